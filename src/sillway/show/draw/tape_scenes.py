"""What is measured, drawn plainly: a van, its ramp and cabin, a chair at a wall, a garage.

World coordinates are centimetres of an invented van and chair: x to the right, z (or, in plans, y)
upwards. They show where a tape goes and stand for no real size.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from sillway.show.draw.svg import Drawing, Uv


@dataclass(frozen=True, slots=True)
class Paper:
    """A drawing and how the world lies on it.

    Attributes:
        scale: paper millimetres for one centimetre of the world.
        right, down: where the world's origin lies. [paper mm]
    """

    d: Drawing
    scale: float
    right: float = 0.0
    down: float = 0.0

    def at(self, point: Uv) -> Uv:
        """A point of the world on paper."""
        return (self.right + point[0] * self.scale, self.down - point[1] * self.scale)

    def line(self, *points: Uv, pen: str = "medium") -> None:
        """An open run of lines."""
        self.d.polyline([self.at(one) for one in points], pen)

    def shape(self, *points: Uv, pen: str = "thick", fill: str = "paper") -> None:
        """A closed outline."""
        self.d.polygon([self.at(one) for one in points], pen, fill)

    def box(
        self, x: Uv, z: Uv, pen: str = "thick", fill: str = "paper", hatch: float = 0.0
    ) -> None:
        """An upright rectangle, hatched with ``hatch`` mm between the lines where given."""
        corners = [(x[0], z[0]), (x[1], z[0]), (x[1], z[1]), (x[0], z[1])]
        self.shape(*corners, pen=pen, fill=fill)
        if hatch:
            self.d.hatch([self.at(one) for one in corners], 45, hatch)

    def ring(self, at: Uv, radius: float, pen: str = "thick", fill: str = "paper") -> None:
        """A circle."""
        self.d.circle(self.at(at), radius * self.scale, pen, fill)

    def earth(self, x0: float, x1: float, z: float = 0.0) -> None:
        """Ground: a line with short strokes under it."""
        self.line((x0, z), (x1, z), pen="thick")
        self._strokes((x0, z), (x1, z))

    def wall(self, x: float, z0: float, z1: float) -> None:
        """A wall: an upright line with strokes to its left."""
        self.line((x, z0), (x, z1), pen="thick")
        self._strokes((x, z0), (x, z1), side=-1.0)

    def _strokes(self, a: Uv, b: Uv, side: float = 1.0) -> None:
        (u0, v0), (u1, v1) = self.at(a), self.at(b)
        count = int(math.hypot(u1 - u0, v1 - v0) / 3.0)
        for k in range(count):
            part = (k + 0.5) / count
            u, v = u0 + part * (u1 - u0), v0 + part * (v1 - v0)
            self.d.line((u, v), (u - 1.4, v + 1.6 * side), "hatch")


def van_side(p: Paper) -> None:
    """The van from its right, nose to the right, tailgate up and ramp out at the back."""
    p.earth(-150, 540)
    p.shape((0, 30), (4, 100), (22, 180), (50, 192), (290, 192), (330, 182), (392, 128), (480, 108),
            (498, 84), (500, 34))  # fmt: skip
    p.shape((40, 120), (48, 174), (140, 178), (140, 120), pen="thin")
    p.shape((150, 120), (150, 178), (285, 178), (352, 126), (352, 120), pen="thin")
    p.line((148, 34), (148, 184), pen="thin")
    p.line((262, 34), (262, 184), pen="thin")
    for x in (105, 402):
        p.ring((x, 33), 33)
        p.ring((x, 33), 17, pen="thin")
    p.line((22, 182), (-72, 205), (-78, 198), pen="thick")
    p.line((4, 30), (-128, 2), pen="thick")
    p.line((14, 30), (260, 30), pen="hidden")


def van_back(p: Paper) -> None:
    """The van from behind with its doorway open and the ramp towards us."""
    p.earth(-130, 130)
    for x in (-84, 58):
        p.box((x, x + 26), (0, 40), pen="medium")
    p.shape((-96, 26), (-98, 100), (-80, 184), (-66, 194), (66, 194), (80, 184), (98, 100),
            (96, 26))  # fmt: skip
    p.shape((-50, 30), (-50, 160), (-44, 172), (44, 172), (50, 160), (50, 30), pen="medium")
    p.shape((-42, 30), (42, 30), (46, 0), (-46, 0), pen="thick")
    p.line((-46, 40), (-37, 40), (-37, 74), (-46, 74), pen="thin")
    p.line((46, 40), (37, 40), (37, 74), (46, 74), pen="thin")


def ramp_side(p: Paper) -> None:
    """The ramp from the side, from the ground to the sill."""
    p.earth(-40, 210)
    p.box((168, 210), (14, 52), pen="medium", hatch=2.2)
    p.line((168, 52), (210, 52), pen="thick")
    p.shape((8, 2), (8, 6), (160, 51), (160, 46), pen="thick")
    p.line((84, 24.5), (84, 28.5), pen="medium")
    p.ring((84, 28.6), 1.6, pen="thin")
    p.ring((164, 50), 2.2, pen="medium")


def ramp_foot(p: Paper) -> None:
    """The end of the ramp on the ground, close by."""
    p.earth(-20, 80)
    p.shape((20, 4), (20, 12), (80, 32), (80, 22), pen="thick")


def ramp_sill(p: Paper) -> None:
    """Where the ramp meets the sill, close by."""
    p.shape((-10, 14), (-10, 24), (38, 40), (38, 30), pen="thick")
    p.box((50, 90), (8, 48), pen="thick", hatch=2.2)
    p.ring((44, 33), 3.0, pen="thin")


def ramp_plan(p: Paper) -> None:
    """The ramp from above: the sill on the right, the ground on the left."""
    p.box((150, 200), (-62, 62), pen="medium", hatch=3.0)
    p.shape((0, -40), (150, -44), (150, 44), (0, 40))
    p.line((0, -36), (150, -40), pen="thin")
    p.line((0, 36), (150, 40), pen="thin")
    p.line((24, 0), (120, 0), pen="thin")
    p.line((108, 6), (120, 0), (108, -6), pen="thin")


def ramp_section(p: Paper) -> None:
    """The ramp cut across: its surface between two raised edges."""
    p.earth(-62, 62, -8)
    p.shape((-46, 0), (-46, 14), (-42, 14), (-42, 4), (42, 4), (42, 14), (46, 14), (46, 0))


def lifting(p: Paper) -> None:
    """A hanging scale at the outer end of the ramp."""
    p.earth(-40, 210)
    p.box((168, 210), (14, 52), pen="medium", hatch=2.2)
    p.shape((8, 12), (8, 16), (160, 53), (160, 48), pen="thick")
    p.line((12, 16), (12, 40), pen="medium")
    p.ring((12, 52), 12, pen="thick")
    p.line((12, 52), (18, 59), pen="medium")
    p.line((12, 64), (12, 84), pen="medium")
    p.line((4, 76), (12, 86), (20, 76), pen="medium")


def cabin_plan(p: Paper) -> None:
    """The cabin from above, nose to the right; the doorway is at the left."""
    p.shape((0, -75), (0, 75), (270, 75), (300, 58), (300, -58), (270, -75))
    p.line((0, -46), (0, 46), pen="chain")
    p.line((-30, 0), (310, 0), pen="chain")
    for side in (1, -1):
        p.box((38, 105), tuple(sorted((side * 52, side * 75))), pen="medium", hatch=2.0)  # type: ignore[arg-type]
        p.box((218, 272), tuple(sorted((side * 16, side * 66))), pen="medium", hatch=4.0)  # type: ignore[arg-type]


def cabin_section(p: Paper) -> None:
    """The cabin cut along its middle: floor, ceiling, side glass, a lower part of the ceiling."""
    p.line((0, 0), (300, 0), pen="thick")
    p.line((0, -4), (300, -4), pen="thin")
    p.line((0, 146), (24, 146), (24, 154), (270, 154), (300, 120), pen="thick")
    p.box((120, 230), (94, 136), pen="medium")
    p.box((40, 105), (0, 38), pen="medium", hatch=2.0)
    p.line((0, 0), (0, 12), pen="thick")


def tire_side(p: Paper) -> None:
    """A tire from outside; the signs stand on its sidewall."""
    p.ring((0, 33), 33)
    p.ring((0, 33), 21, pen="medium")
    p.ring((0, 33), 4, pen="medium")
    for k in range(5):
        angle = math.tau * k / 5
        c, s = math.cos(angle), math.sin(angle)
        p.line((4 * c, 33 + 4 * s), (20 * c, 33 + 20 * s), pen="thin")
    p.earth(-45, 45)
    p.box((-14, 14), (57, 63), pen="medium")
    for k in range(7):
        p.line((-11 + 3.4 * k, 58.4), (-11 + 3.4 * k, 61.6), pen="thin")


def tire_section(p: Paper) -> None:
    """The tread cut across, with its three main grooves."""
    top, deep = 24.0, 10.0
    points = [(-44.0, 0.0), (-48.0, 16.0), (-40.0, top)]
    for x in (-24, 0, 24):
        points += [(x - 5.0, top), (x - 3.5, deep), (x + 3.5, deep), (x + 5.0, top)]
    p.shape(*points, (40, top), (48, 16), (44, 0))
    p.d.hatch([p.at(one) for one in ((-44, 0), (44, 0), (46, 8), (-46, 8))], 45, 2.0)


def plate(p: Paper) -> None:
    """A label with lines of print, beside an open door."""
    p.line((-70, -50), (-70, 50), (-20, 50), pen="thick")
    p.line((-70, -50), (-58, -50), (-50, 44), (-20, 44), pen="thin")
    p.box((-20, 80), (-36, 36), pen="thick")
    p.line((-62, 0), (-20, 20), pen="thin")
    p.ring((-63, 0), 5, pen="medium")
    for k, long in enumerate((70, 54, 80, 46, 62)):
        z = 24 - 12 * k
        p.line((-10, z), (-10 + long, z), pen="medium")


def axle_scale(p: Paper) -> None:
    """The van with one axle on a scale."""
    van_side(p)
    for x in (105, 402):
        p.box((x - 46, x + 46), (-14, 0), pen="medium", hatch=1.6)


def opening(p: Paper) -> None:
    """A door or hatch that opens to the outside."""
    p.earth(-90, 110)
    p.shape((-60, 8), (-60, 120), (-50, 130), (50, 130), (60, 120), (60, 8))
    p.shape((60, 8), (104, -4), (104, 110), (60, 120), pen="medium")
    p.line((96, 56), (96, 66), pen="thick")


def chair_side(p: Paper) -> None:
    """Somebody in a chair, seen from the side, its back against a wall."""
    p.wall(0, 0, 165)
    p.earth(-12, 160)
    p.ring((42, 30), 30, pen="thick", fill="none")
    p.ring((42, 30), 2.5, pen="medium")
    p.ring((98, 9), 9, pen="thick", fill="none")
    p.line((2, 96), (20, 92), (26, 48), (82, 52), pen="thick")
    p.line((26, 48), (98, 18), (118, 8), (128, 10), pen="medium")
    p.line((24, 70), (70, 70), (74, 66), pen="medium")
    p.ring((38, 126), 11, pen="medium")
    p.shape((26, 54), (28, 110), (40, 114), (48, 104), (46, 66), (86, 68), (92, 60), (112, 20),
            (128, 18), (128, 12), (104, 12), (80, 54), pen="medium")  # fmt: skip
    p.line((44, 104), (50, 78), (72, 76), pen="medium")


def chair_front(p: Paper) -> None:
    """The same from the front."""
    p.earth(-46, 46)
    for side in (-1, 1):
        p.box((side * 34 - 3, side * 34 + 3), (0, 60), pen="thick")
        p.box((side * 20 - 2.5, side * 20 + 2.5), (0, 18), pen="medium")
        p.line((side * 24, 106), (side * 34, 78), (side * 33, 70), pen="medium")
        p.box((side * 12 - 7, side * 12 + 7), (10, 62), pen="medium")
    p.shape((-22, 62), (-25, 108), (-12, 114), (12, 114), (25, 108), (22, 62), pen="medium")
    p.ring((0, 126), 11, pen="medium")


def chair_both(p: Paper) -> None:
    """From the side and from the front."""
    chair_side(p)
    chair_front(Paper(p.d, p.scale, p.right + 222 * p.scale, p.down))


def garage_side(p: Paper) -> None:
    """A garage from the side with its door open."""
    p.earth(-60, 330)
    p.line((0, 205), (0, 262), (300, 262), (300, 0), pen="thick")
    p.line((6, 210), (120, 226), pen="medium")
    p.line((0, 205), (6, 205), pen="thick")


def garage_plan(p: Paper) -> None:
    """A garage from above; its door is at the left."""
    p.line((0, -60), (0, -140), (300, -140), (300, 140), (0, 140), (0, 60), pen="thick")
    p.line((0, -60), (0, 60), pen="hidden")


def driveway(p: Paper) -> None:
    """A drive that rises away from the van, with a straight board and a level on it."""
    p.line((-20, 0), (90, 0), (230, 24), pen="thick")
    p.shape((2, 26), (2, 100), (24, 116), (70, 116), (80, 26), pen="medium")
    p.ring((52, 16), 16, pen="medium")
    p.shape((108, 4), (216, 22.6), (215, 27), (107, 8.6), pen="medium")


def bay_plan(p: Paper) -> None:
    """A parking bay from above with the aisle beside it and the room behind."""
    p.line((0, 0), (0, 130), (250, 130), (250, 0), pen="medium")
    p.line((0, 0), (250, 0), pen="medium")
    p.line((0, -75), (250, -75), pen="medium")
    p.d.hatch([p.at(one) for one in ((0, 0), (250, 0), (250, -75), (0, -75))], 45, 5.0)
    p.shape((40, 22), (40, 108), (230, 108), (244, 90), (244, 40), (230, 22), pen="thick")


#: Name → how it is drawn, and paper millimetres for one centimetre of the world.
SCENES: Final[dict[str, tuple[Callable[[Paper], None], float]]] = {
    "van_side": (van_side, 0.17),
    "van_back": (van_back, 0.38),
    "ramp_side": (ramp_side, 0.45),
    "ramp_foot": (ramp_foot, 1.0),
    "ramp_sill": (ramp_sill, 1.0),
    "ramp_plan": (ramp_plan, 0.5),
    "ramp_section": (ramp_section, 0.85),
    "lifting": (lifting, 0.42),
    "cabin_plan": (cabin_plan, 0.31),
    "cabin_section": (cabin_section, 0.33),
    "tire_side": (tire_side, 1.0),
    "tire_section": (tire_section, 1.0),
    "plate": (plate, 0.65),
    "axle_scale": (axle_scale, 0.17),
    "opening": (opening, 0.5),
    "chair_side": (chair_side, 0.62),
    "chair_front": (chair_front, 0.7),
    "chair_both": (chair_both, 0.4),
    "garage_side": (garage_side, 0.28),
    "garage_plan": (garage_plan, 0.27),
    "driveway": (driveway, 0.45),
    "bay_plan": (bay_plan, 0.36),
}
