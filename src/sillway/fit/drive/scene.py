"""A scene: what is asked of the drive engine, in mm and rad, and what it answers.

Van frame (ISO 8855 directions): x forward, y left; heading 0 faces forward, counter-clockwise
positive. Body frame: origin on the floor below the middle of the drive axle, x forward, y left.
A body and a cabin are stacks of prisms (convex polygon times z-range); two prisms can touch only
where their open z-ranges overlap.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

Point = tuple[float, float]
Pose = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex polygon, counter-clockwise [mm], over a z-range [mm], with a name to show."""

    polygon: tuple[Point, ...]
    z: tuple[float, float]
    name: str = ""


@dataclass(frozen=True, slots=True)
class Spot:
    """Turns on the spot about the body origin and drives straight, forwards or backwards."""


@dataclass(frozen=True, slots=True)
class Car:
    """Steers like a car: arcs of at least this radius about a point on the drive axle's line."""

    min_turn_radius_mm: float


Drive = Spot | Car


@dataclass(frozen=True, slots=True)
class PoseBox:
    """A box of poses. theta is an interval [a, b] with a <= b, b - a <= 2 pi, not wrapped."""

    x: tuple[float, float]
    y: tuple[float, float]
    theta: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Scene:
    """One manoeuvre question. The bounds are walls of every height.

    Attributes:
        start, goal: boxes of admissible poses (a single pose is a box without extent). A path may
            begin at any pose of start and end at any pose of goal.
        bounds: ((x0, y0), (x1, y1)) the whole body has to stay inside.
    """

    obstacles: tuple[Prism, ...]
    body: tuple[Prism, ...]
    start: PoseBox
    goal: PoseBox
    bounds: tuple[Point, Point]
    drive: Drive = field(default_factory=Spot)


def never() -> bool:
    """There is no hurry."""
    return False


@dataclass(frozen=True, slots=True)
class Budget:
    """How much work a question may cost before it ends undecided.

    Attributes:
        max_boxes: boxes of poses that may be made.
        finest_mm: boxes whose half size moves the body by less than this are not split.
        late: asked now and then; True stops the work (the caller holds the clock).
    """

    max_boxes: int = 200_000
    finest_mm: float = 0.1
    late: Callable[[], bool] = never


class Verdict(StrEnum):
    """What a question can come to."""

    FITS = "fits"
    CONDITIONS = "fits with conditions"
    CLOSE = "too close to call"
    NO = "does not fit"
