"""The chair rolling along its certified way: plan and side view for the page, frame by frame."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from sillway.fit.drive.scene import Point, Prism
from sillway.fit.result import FitAnswer, Frame, SideView
from sillway.records.van import Van
from sillway.show.draw import motion
from sillway.show.draw.base import base, chair_body
from sillway.show.draw.frame import (
    Elevation,
    Plan,
    WayIn,
    flanks,
    outline,
    ramp_run_mm,
    scale_for,
    way_in,
)
from sillway.show.draw.plan import plan_scale
from sillway.show.draw.side import ground
from sillway.show.draw.svg import Drawing, num
from sillway.units import show_length

_ROOM_MM: Final = 120.0
_GROUND_MM: Final = 600.0
# More frames than this make a page heavy and a slider no finer.
_MOST_FRAMES: Final = 240
_HEADER_MM: Final = 80.0


@dataclass(frozen=True, slots=True)
class Playback:
    """Two drawings and the rows that move the chair in them.

    Attributes:
        plan, side: SVG; each holds a group, `#roll-plan` and `#roll-side`, that is moved.
        data: frames as [u, v, degrees, side u, side v, side degrees, clearance in words, then
            low and high end of each layer]; the height of each layer; numbers of key frames.
    """

    plan: str
    side: str
    data: dict[str, Any]


def playback(answer: FitAnswer, van: Van) -> Playback | None:
    """The playback, or nothing where no way is certified."""
    body, frames = chair_body(answer), _thinned(motion.frames(answer))
    if not body or len(frames) < 2:
        return None
    way, profile = way_in(van), _profile(answer, van)
    view = Plan(plan_scale(van))
    low = -ramp_run_mm(van) - _GROUND_MM
    high = max(_inner(van, way), max(p[0] for p in profile.profile if p[1] == 0.0))
    paper = Elevation(scale_for(high - low, _ROOM_MM))
    plan = Drawing("rollplan", "The chair on its way, in plan", "Moves with the slider.")
    base(plan, view, van, answer)
    plan.polyline(view.all([frame.pose[:2] for frame in frames]), "chain")
    for frame in frames:
        plan.extend(view.all(outline(body, frame.pose)))
    with plan.group(id="roll-plan"):
        still = [(-y / view.scale, -x / view.scale) for x, y in outline(body, (0.0, 0.0, 0.0))]
        plan.polygon(still, "thick", "paper")
        front = max(x for prism in body for x, _ in prism.polygon) / view.scale
        plan.polyline([(-1.6, -front + 5), (0, -front + 1.5), (1.6, -front + 5)], "medium")
    side = Drawing("rollside", "The chair on its way, from the side", "Moves with the slider.")
    ground(side, paper, profile.profile, profile.overhead, low, high)
    ends = [
        way.s(frame.pose[:2]) + x
        for frame in frames
        for flank in flanks(body, frame.pose, way)
        for x in flank
    ]
    top = max(prism.z[1] for prism in body)
    side.extend(paper.all([(min(ends), min(0.0, *(f.z_mm for f in frames))), (max(ends), top)]))
    with side.group(id="roll-side"):
        for z0, z1 in [prism.z for prism in body]:
            box = [(0.0, z0), (1.0, z0), (1.0, z1), (0.0, z1)]
            side.polygon(paper.all(box), "medium", "paper")
    return Playback(
        plan.svg(standalone=False),
        side.svg(standalone=False),
        {
            "frames": [_row(frame, body, view, paper, way) for frame in frames],
            "heights": [[float(num(-z / paper.scale)) for z in prism.z] for prism in body],
            "keys": _keys(answer, frames),
        },
    )


def _row(
    frame: Frame, body: Sequence[Prism], view: Plan, paper: Elevation, way: WayIn
) -> list[float | str]:
    u, v = view.at(frame.pose[:2])
    s, z = paper.at((way.s(frame.pose[:2]), frame.z_mm))
    ends = [x / paper.scale for flank in flanks(body, frame.pose, way) for x in flank]
    turned = (-math.degrees(frame.pose[2]), -math.degrees(frame.pitch_rad))
    figures = [float(num(x)) for x in (u, v, turned[0], s, z, turned[1])]
    return [*figures, show_length(frame.clearance_mm), *(float(num(x)) for x in ends)]


def _thinned(frames: tuple[Frame, ...]) -> tuple[Frame, ...]:
    """At most so many; of those between two kept ones the tightest stands for the rest."""
    if len(frames) <= _MOST_FRAMES:
        return frames
    size = math.ceil((len(frames) - 2) / (_MOST_FRAMES - 2))
    inner = frames[1:-1]
    kept = [
        min(inner[i : i + size], key=lambda f: f.clearance_mm) for i in range(0, len(inner), size)
    ]
    return (frames[0], *kept, frames[-1])


def _keys(answer: FitAnswer, frames: tuple[Frame, ...]) -> list[int]:
    if answer.certificate is None:
        return [0, len(frames) - 1]
    out: list[int] = []
    for key in motion.keys(answer.certificate):

        def off(i: int, at: tuple[float, float, float] = key.pose) -> float:
            x, y, heading = frames[i].pose
            # A radian weighs like a metre: enough to tell the ends of a turn on the spot apart.
            return math.dist((x, y), at[:2]) + 1000.0 * abs(heading - at[2])

        start = out[-1] if out else 0
        out.append(min(range(start, len(frames)), key=off))
    return sorted(set(out))


def _profile(answer: FitAnswer, van: Van) -> SideView:
    if answer.side_views:
        return answer.side_views[0]
    run, rise = ramp_run_mm(van), van.ramp.rise.value
    door, ceiling = van.door.height.value, van.cabin.height.value
    inner = _inner(van, way_in(van))
    profile: tuple[Point, ...] = (
        (-run - _GROUND_MM, -rise),
        (-run, -rise),
        (0.0, 0.0),
        (inner, 0.0),
    )
    overhead = (((0.0, door), (_HEADER_MM, door)), ((_HEADER_MM, ceiling), (inner, ceiling)))
    return SideView("", profile, overhead, (), ())


def _inner(van: Van, way: WayIn) -> float:
    return max(way.s(point) for point in van.cabin.floor.points_mm)
