"""The page of rules is the page the book would write today."""

from __future__ import annotations

from pathlib import Path

from sillway.rules import book
from sillway.rules.page import markdown, value_of

PAGE = Path(__file__).parents[2] / "docs" / "rules.md"


def test_docs_are_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == markdown(book()), (
        "write it anew: python -m sillway.rules.page > docs/rules.md"
    )


def test_every_rule_has_a_row_and_both_printed_figures() -> None:
    page = markdown(book())
    for rule in book():
        assert f"| `{rule.id}` |" in page
    (width,) = book().values_of("ramp.width.clear")
    assert value_of(width) == "30 in (760 mm)"
