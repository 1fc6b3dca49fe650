"""What happens on the way, at the middle values: what grounds, lifts, or runs out of travel."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sillway.fit.ramp.body import SideBody
from sillway.fit.ramp.contact import Array
from sillway.fit.ramp.pose import rest
from sillway.fit.ramp.ways import Feet

STEP_MM = 5.0  # events are told to this; margins do not rest on them
TOUCH_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happens over a stretch of drive axle positions.

    Attributes:
        kind: ``grounds`` (a non-rolling contact would be in the way), ``drive unloaded``,
            ``travel up used`` or ``travel down used`` (a sprung wheel at its stop), ``tips``
            (nothing balances), ``lifts`` (a rigid wheel is off the way).
        part: of what.
        from_x_mm, to_x_mm: x of the drive axle, to 5 mm.
        by_mm: how far at most (depth, lift); 0 where it has no size.
    """

    kind: str
    part: str
    from_x_mm: float
    to_x_mm: float
    by_mm: float


def tell(body: SideBody, f: Feet, start: float, end: float) -> tuple[Event, ...]:
    """All events of rolling on the wheels from ``start`` to ``end``, in order."""
    x = np.arange(start, end + STEP_MM, STEP_MM)
    turn, height, drive, balanced = _usual(body, f, x)
    cos, sin = np.cos(turn), np.sin(turn)
    axle = x + f.drive.turned(cos, sin)[0]
    found: list[Event] = []

    def note(kind: str, part: str, by: Array, where: NDArray[np.bool_]) -> None:
        found.extend(_stretches(kind, part, axle, by, where))

    for part in f.parts:
        ox, oz = part.turned(cos, sin)
        depth = part.path.at(x + ox)[0] - (height + oz)
        note("grounds", part.name, depth, depth > TOUCH_MM)
    travels = {c.name: c for c in body.contacts}
    for foot in f.rolling:
        ox, oz = foot.turned(cos, sin)
        gap = height + oz - foot.path.at(x + ox)[0]  # above the bump stop
        c = travels[foot.name]
        if c.sprung:
            note("travel up used", foot.name, np.zeros_like(gap), gap < TOUCH_MM)
            off = gap - c.travel_up_mm - c.travel_down_mm
            note("travel down used", foot.name, off, off > TOUCH_MM)
        elif not c.drive:
            note("lifts", foot.name, gap, gap > TOUCH_MM)
        else:
            note("drive unloaded", foot.name, gap, ~drive & (gap > TOUCH_MM))
    note("tips", "", np.zeros_like(turn), ~balanced)
    return tuple(sorted(found, key=lambda e: (e.from_x_mm, e.kind)))


def _usual(
    body: SideBody, f: Feet, x: Array
) -> tuple[Array, Array, NDArray[np.bool_], NDArray[np.bool_]]:
    """The usual pose at each x, whether the drive wheels bear in it, and whether it balances.

    Of all ways that keep every other wheel above its bump stop and have the middle of the centre
    of mass between them, the lowest for the centre of mass; without any, the lowest.
    """
    cx = 0.5 * (min(c[0] for c in f.com) + max(c[0] for c in f.com))
    cz = 0.5 * (min(c[1] for c in f.com) + max(c[1] for c in f.com))
    turn, height = np.zeros_like(x), np.zeros_like(x)
    drive, balanced = np.ones(x.shape, dtype=bool), np.zeros(x.shape, dtype=bool)
    rank = np.full(x.shape, np.inf)
    name = body.drive.name
    for way in f.usual:
        p, h = rest(way.rear, way.front, x)
        cos, sin = np.cos(p), np.sin(p)
        clear = np.ones(x.shape, dtype=bool)
        for other in way.others:
            ox, oz = other.turned(cos, sin)
            clear &= h + oz - other.path.at(x + ox)[0] > -TOUCH_MM
        at = cx * cos - cz * sin
        (ax, az), (bx, bz) = way.rear.turned(cos, sin), way.front.turned(cos, sin)
        sa, sb = way.rear.path.at(x + ax)[1], way.front.path.at(x + bx)[1]
        between = (ax + sa * az <= at) & (at <= bx + sb * bz)
        level = h + cx * sin + cz * cos
        on_drive = name in (way.rear.name, way.front.name)
        # Of equals, the one on the drive wheels: with three in line all bear.
        score = (
            level
            - (1e-3 if on_drive else 0.0)
            + np.where(clear, 0.0, 1e6)
            + np.where(between, 0.0, 1e5)
        )
        better = score < rank
        rank = np.where(better, score, rank)
        turn, height = np.where(better, p, turn), np.where(better, h, height)
        drive = np.where(better, on_drive, drive)
        balanced = np.where(better, between, balanced)
    return turn, height, drive, balanced


def _stretches(kind: str, part: str, x: Array, by: Array, where: NDArray[np.bool_]) -> list[Event]:
    """Runs of True as events."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], where.astype(int), [0]))))
    made = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        most = float(np.max(by[first:last]))
        most = most if math.isfinite(most) else 0.0
        made.append(Event(kind, part, float(x[first]), float(x[last - 1]), most))
    return made
