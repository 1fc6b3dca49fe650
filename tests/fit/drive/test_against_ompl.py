"""Against a general-purpose sampling planner (OMPL) on random scenes, validity by shapely."""

from __future__ import annotations

import pytest
from random_scenes import compare, quiet, random_scene

from sillway.fit.drive.answer import solve
from sillway.fit.drive.scene import Verdict

SCENES = 40
SECONDS_EACH = 0.4


@pytest.fixture(scope="module", autouse=True)
def _quiet() -> None:
    quiet(7)


@pytest.mark.parametrize("seed", range(SCENES))
def test_we_do_not_contradict_each_other(seed: int) -> None:
    assert compare(random_scene(seed), SECONDS_EACH).contradictions == ()


def test_the_scenes_hold_every_verdict() -> None:
    """Else the comparison above would say little."""
    verdicts = [
        solve(scene, scene, explain=False).verdict for scene in map(random_scene, range(SCENES))
    ]
    assert verdicts.count(Verdict.FITS) >= SCENES / 4
    assert verdicts.count(Verdict.NO) >= SCENES / 8
