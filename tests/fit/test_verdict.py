"""Design 1.1 in one place: which class of check decides what."""

from __future__ import annotations

import itertools

import pytest

from sillway.fit.check import Check, CheckClass, Finding, Margin, Settle
from sillway.fit.drive.scene import Verdict
from sillway.fit.verdict import best, conditions_of, settle_of, verdict_of, worst

P, R, A, Y = CheckClass.PHYSICAL, CheckClass.RATING, CheckClass.PRACTICE, CheckClass.YARDSTICK
HOLDS, CLOSE, FAILS, OPEN = Finding.HOLDS, Finding.CLOSE, Finding.FAILS, Finding.NOT_ASSESSED


def check(cls: CheckClass, finding: Finding, name: str = "x", best_mm: float = 0.0) -> Check:
    margin = None if finding is OPEN else Margin(-1.0, best_mm, "mm")
    settle = (Settle(f"{name}.measure", "measure it"),) if finding in (CLOSE, OPEN) else ()
    return Check(
        name, "Does it?", cls, finding, margin, "10", "9", (), "source", settle, "a clinician"
    )


@pytest.mark.parametrize("cls", [P, R])
@pytest.mark.parametrize(
    ("finding", "verdict"),
    [
        (HOLDS, Verdict.FITS),
        (CLOSE, Verdict.CLOSE),
        (FAILS, Verdict.NO),
        (OPEN, Verdict.CLOSE),
    ],
)
def test_physical_and_rating_checks_decide(
    cls: CheckClass, finding: Finding, verdict: Verdict
) -> None:
    assert verdict_of([check(cls, finding)]) is verdict


@pytest.mark.parametrize("finding", [CLOSE, FAILS, OPEN])
def test_a_practice_check_out_of_range_is_a_condition_with_somebody_to_settle_it(
    finding: Finding,
) -> None:
    checks = [check(P, HOLDS), check(A, finding, "belt")]
    assert verdict_of(checks) is Verdict.CONDITIONS
    (condition,) = conditions_of(checks)
    assert condition.check_id == "belt"
    assert condition.who == "a clinician"


@pytest.mark.parametrize("finding", list(Finding))
def test_a_yardstick_never_changes_the_verdict(finding: Finding) -> None:
    for others in itertools.product([HOLDS, CLOSE, FAILS], repeat=2):
        base = [check(P, others[0]), check(R, others[1])]
        assert verdict_of(base) is verdict_of([*base, check(Y, finding)])


def test_a_practice_check_never_saves_or_sinks_a_no() -> None:
    for finding in Finding:
        assert verdict_of([check(P, FAILS), check(A, finding)]) is Verdict.NO
        assert verdict_of([check(P, CLOSE), check(A, finding)]) is Verdict.CLOSE


def test_one_certain_no_outweighs_every_open_question() -> None:
    assert verdict_of([check(P, CLOSE), check(R, FAILS), check(P, OPEN)]) is Verdict.NO


def test_what_to_measure_starts_with_the_call_nearest_to_a_no_and_names_nothing_twice() -> None:
    checks = [
        check(P, CLOSE, "wide", best_mm=40),
        check(R, CLOSE, "near", best_mm=2),
        check(R, CLOSE, "near", best_mm=3),
        check(A, CLOSE, "practice"),
    ]
    assert [s.measure for s in settle_of(checks)] == ["near.measure", "wide.measure"]


def test_worst_and_best() -> None:
    assert worst([Verdict.FITS, Verdict.CLOSE]) is Verdict.CLOSE
    assert best([Verdict.NO, Verdict.CLOSE]) is Verdict.CLOSE
    assert worst(list(Verdict)) is Verdict.NO
    assert best(list(Verdict)) is Verdict.FITS
