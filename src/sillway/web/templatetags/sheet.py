"""Small helps for templates: a form field with all that belongs to it, days and plain values."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

from django import template
from django.forms import BoundField
from django.http import HttpRequest

from sillway.store.clock import now
from sillway.store.ledger import show_cents
from sillway.store.merge import ABSENT
from sillway.web.access import allowed

register = template.Library()


@register.inclusion_tag("_field.html")
def field(bound: BoundField) -> dict[str, Any]:
    """A label, a hint, the errors and the input, tied together for those who cannot see."""
    return {"field": bound}


@register.inclusion_tag("_errors.html")
def errors(form: Any) -> dict[str, Any]:
    """The list of all errors on top of a form, each leading to its field."""
    return {"form": form}


@register.filter
def days_since(day: dt.date | None) -> str:
    """Whole days from a day until today, or a dash.

    >>> days_since(None)
    '–'
    """
    return "–" if day is None else str((now().date() - day).days)


@register.filter
def dollars(cents: int) -> str:
    """An amount of money.

    >>> dollars(124050)
    '$1,240.50'
    """
    return show_cents(cents)


@register.filter
def said(value: Any) -> str:
    """A value of a document as a person would write it.

    >>> said({"value": "34 in", "way": "tape"}), said(None), said(True)
    ('34 in (tape)', 'nothing', 'yes')
    """
    if value is ABSENT or value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict) and "value" in value:
        tolerance = f" ± {value['tolerance']}" if "tolerance" in value else ""
        way = f" ({value['way']})" if "way" in value else ""
        return f"{value['value']}{tolerance}{way}"
    if isinstance(value, dict) and {"low", "high"} <= set(value):
        way = f" ({value['way']})" if "way" in value else ""
        return f"{value['low']} to {value['high']}{way}"
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return str(value)


@register.simple_tag(takes_context=True)
def can(context: dict[str, Any], act: str) -> bool:
    """Whether the account that looks may do this."""
    request = context["request"]
    assert isinstance(request, HttpRequest)
    return allowed(request, act)
