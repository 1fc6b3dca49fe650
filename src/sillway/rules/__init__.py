"""Limits as data: every figure sillway judges by, dated and sourced, in the TOML files here.

``rule(id, on)`` answers for one day, which the caller gives; ``number``, ``interval``, ``table``
and ``text`` give its value in mm, kg, N and rad. Outside its dates a rule refuses.
"""

from __future__ import annotations

from sillway.rules.load import (
    Book,
    RuleError,
    all_rules,
    book,
    ids,
    interval,
    number,
    read_folder,
    rule,
    table,
    text,
    values_of,
)
from sillway.rules.model import KINDS, PROVENANCES, Cell, Rule, Value

__all__ = [
    "KINDS",
    "PROVENANCES",
    "Book",
    "Cell",
    "Rule",
    "RuleError",
    "Value",
    "all_rules",
    "book",
    "ids",
    "interval",
    "number",
    "read_folder",
    "rule",
    "table",
    "text",
    "values_of",
]
