"""How the source of a rule is told beside a check, and its figure as printed."""

from __future__ import annotations

from sillway import rules
from sillway.fit.known import Basis, Known
from sillway.records.measure import Way


def cite(basis: Basis, *rule_ids: str) -> str:
    """Clause, first day and provenance of one or more rules.

    Raises:
        RuleError: if a rule is not in force on the day.

    >>> import datetime as dt
    >>> cite(Basis(dt.date(2026, 11, 25)), "strap.angle.rear")
    'RESNA WC19, answers to common questions (in force 2000-05-01, seen)'
    """
    told = []
    for rule_id in rule_ids:
        rule = rules.rule(rule_id, basis.on)
        told.append(f"{rule.source} (in force {rule.in_force.isoformat()}, {rule.provenance})")
    return "; ".join(dict.fromkeys(told))


def degrees(basis: Basis, rule_id: str) -> tuple[float, float]:
    """A window of angles as printed, in degrees: no rounding through radians at its ends.

    Raises:
        RuleError: if the rule is not a range.
        ValueError: if it is not printed in degrees.
    """
    rules.interval(rule_id, basis.on)
    rule = rules.rule(rule_id, basis.on)
    if rule.unit != "deg" or not isinstance(rule.value, tuple):
        msg = f"{rule_id} is not a range of degrees"
        raise ValueError(msg)
    return rule.value


def assumed_range(basis: Basis, name: str, rule_id: str, unit: str, factor: float = 1.0) -> Known:
    """The range a rule assumes, times a factor (a share of something known)."""
    low, high = rules.interval(rule_id, basis.on)
    source = cite(basis, rule_id)
    return Known(
        name, low * factor, high * factor, unit, Way.ASSUMED, f"assumed ({rule_id})", source
    )
