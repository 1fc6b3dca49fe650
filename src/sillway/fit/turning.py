"""The turning space of buildings, as a yardstick for the cabin: the largest free circle."""

from __future__ import annotations

from shapely import Point, Polygon, maximum_inscribed_circle, unary_union

from sillway.fit.body import Side
from sillway.fit.cabin import floor_shape
from sillway.fit.check import Check, CheckClass, Margin, finding_of
from sillway.fit.cite import cite
from sillway.fit.known import Basis
from sillway.fit.plane import polygons
from sillway.records.van import Van
from sillway.units import show_length

RULE = "space.turn.circle"
# The circle's centre is found to this; the radius told is the one measured there. [mm]
_CENTRE_MM = 1.0


def free_circle_mm(basis: Basis, van: Van) -> tuple[float, float]:
    """Diameter of the largest circle free of everything fixed and of seats that stay.

    Seats that fold or come out are taken as gone. With every measure at its bad end, and at its
    good end.
    """
    ends = []
    for side in (Side.BAD, Side.GOOD):
        solids = [Polygon(s.outline.points_mm) for s in van.cabin.solids]
        solids += [Polygon(s.in_use.outline.points_mm) for s in van.seats if len(s.states()) == 1]
        free = floor_shape(basis, van, side).difference(unary_union(solids))
        largest = 0.0
        for polygon in polygons(free):
            line = maximum_inscribed_circle(polygon, tolerance=_CENTRE_MM)
            centre = Point(line.coords[0])
            largest = max(largest, 2 * polygon.boundary.distance(centre))
        ends.append(largest)
    # The solids' own tolerance: each may stand this much further in or out.
    off = max((basis.way_tolerance(s.outline.way, "mm") for s in van.cabin.solids), default=0.0)
    return ends[0] - 2 * off, ends[1] + 2 * off + 2 * _CENTRE_MM


def turning_check(basis: Basis, van: Van) -> Check:
    """The largest free circle against that of a building's turning space."""
    wanted = basis.number(RULE)
    low, high = free_circle_mm(basis, van)
    margin = Margin(low - wanted, high - wanted, "mm")
    return Check(
        RULE, "Is there a turning circle in the cabin as a building must have?",
        CheckClass.YARDSTICK, finding_of(margin), margin,
        f"{show_length(wanted)} across", f"largest free circle {show_length(low)} across", (),
        cite(basis, RULE), note="With every seat gone that folds or comes out. Few vans have it.",
    )  # fmt: skip
