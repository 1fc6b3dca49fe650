"""The plan of a van by itself, before anybody asks whether somebody fits."""

from __future__ import annotations

import datetime as dt

from sillway.fit.drive.scene import Verdict
from sillway.fit.result import FitAnswer
from sillway.records.van import Van
from sillway.show.draw import plan as whole
from sillway.show.draw.base import base
from sillway.show.draw.frame import Plan, fitting
from sillway.show.draw.key import key_block, title_block
from sillway.show.draw.svg import Drawing


def van_plan(van: Van, on: dt.date) -> Drawing:
    """Cabin, door, ramp, seats as usual and places with their dimensions; no rider, no verdict."""
    nothing = FitAnswer(
        verdict=Verdict.CLOSE, van=van.name(), rider="", on=on, posture="", arrangement=None,
        checks=(), conditions=(), settle=(), assumed=(), certificate=None, proof=None, deciding="",
    )  # fmt: skip

    def draw(scale: int) -> Drawing:
        view = Plan(scale)
        title = f"Plan of {van.name()}, front up, scale 1:{scale}"
        d = Drawing("van-plan", title, "The van alone, seats as usual.")
        base(d, view, van, nothing)
        whole.fastenings(d, view, van)
        whole.dimensions(d, view, nothing, van)
        whole.names(d, view, nothing, van)
        key_block(d, whole.states_shown(nothing, van))
        d.notes += whole.parts(nothing, van)
        title_block(
            d, "Plan", scale, van=van.name(), rider="", on=on.isoformat(), number="",
            invented=van.invented,
        )  # fmt: skip
        return d

    return fitting(whole.plan_scale(van), draw)
