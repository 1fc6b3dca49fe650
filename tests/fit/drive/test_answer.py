"""Verdicts from both sides, and that they never contradict each other."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sillway.fit.drive.answer import SHUFFLING, TOLERANCE, solve
from sillway.fit.drive.certificate import LEAST_CLAIM_MM
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.scene import Budget, PoseBox, Prism, Scene, Verdict


def box(x0: float, y0: float, x1: float, y1: float, name: str = "") -> Prism:
    return Prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (0.0, 1000.0), name)


def at(x: float, y: float, theta: float) -> PoseBox:
    return PoseBox((x, x), (y, y), (theta, theta))


def gate(width: float, gap: float) -> Scene:
    """Straight through a gap between two jambs."""
    return Scene(
        (
            box(400, gap / 2, 500, 300, "left jamb"),
            box(400, -300, 500, -gap / 2, "right jamb"),
        ),
        (box(-100, -width / 2, 100, width / 2, "base"),),
        at(0, 0, 0),
        at(800, 0, 0),
        ((-300.0, -300.0), (1200.0, 300.0)),
    )


def test_a_gap_wider_than_the_body_fits() -> None:
    scene = gate(160, 170)
    answer = solve(scene, scene)
    assert answer.verdict is Verdict.FITS
    assert answer.certificate is not None
    assert answer.certificate.claimed_clearance_mm == pytest.approx(5, abs=0.03)
    assert recheck_path(answer.certificate.to_json()) == []


def test_a_gap_narrower_than_the_body_does_not_and_says_where() -> None:
    scene = gate(170, 160)
    answer = solve(scene, scene)
    assert answer.verdict is Verdict.NO
    assert answer.shut is not None
    assert answer.pinch is not None
    low, high = answer.pinch.spare_mm
    assert low <= -5 <= high
    assert answer.pinch.obstacle_name in ("left jamb", "right jamb")


def test_between_the_ends_of_the_measurements_it_is_too_close_and_names_the_jambs() -> None:
    answer = solve(gate(170, 164), gate(150, 164))
    assert answer.verdict is Verdict.CLOSE
    assert answer.why == TOLERANCE
    assert {s.name for s in answer.settle} <= {"left jamb", "right jamb", "base"}
    assert answer.grey_mm is not None
    low, high = answer.grey_mm
    assert low <= -3
    assert high >= 7


def test_a_clearance_under_half_a_millimetre_is_not_a_yes() -> None:
    scene = gate(160, 160 + LEAST_CLAIM_MM)
    answer = solve(scene, scene)
    assert answer.verdict is Verdict.CLOSE


def test_only_a_slide_gets_there() -> None:
    """A 200 × 160 body moves 300 sideways in a passage 240 long: no drive of few reversals."""
    scene = Scene(
        (),
        (box(-100, -80, 100, 80),),
        at(0, 0, 0),
        at(0, 300, 0),
        ((-104.0, -100.0), (104.0, 400.0)),
    )
    answer = solve(scene, scene)
    assert answer.verdict is Verdict.CLOSE
    assert answer.why == SHUFFLING


def test_the_budget_is_the_caller_s() -> None:
    scene = Scene(
        (),
        (box(-100, -80, 100, 80),),
        at(0, 0, 0),
        at(0, 300, 0),
        ((-104.0, -100.0), (104.0, 400.0)),
    )
    answer = solve(scene, scene, Budget(late=lambda: True))
    assert answer.verdict is Verdict.CLOSE


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    gap=st.floats(150, 190),
    width=st.floats(150, 190),
    grown=st.floats(0, 20),
    shift=st.floats(-30, 30),
)
def test_growing_the_chair_never_turns_a_no_into_a_yes(
    gap: float, width: float, grown: float, shift: float
) -> None:
    def scene(across: float) -> Scene:
        base = gate(across, gap)
        return Scene(base.obstacles, base.body, base.start, at(800, shift, 0.2), base.bounds)

    small = solve(scene(width), scene(width), explain=False).verdict
    large = solve(scene(width + grown), scene(width + grown), explain=False).verdict
    assert not (small is Verdict.NO and large is Verdict.FITS)
    # The gap decides: a body 1 narrower passes (its slack is the claim's least), 1 wider never.
    if small is Verdict.NO:
        assert width > gap - 1
    if large is Verdict.FITS:
        assert width + grown < gap


def test_reading_an_answer_s_type_loads_no_compiler() -> None:
    code = (
        "import sys, sillway.fit.drive.answer, sillway.fit.drive.read;print('numba' in sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "False"
