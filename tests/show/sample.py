"""Invented vans, riders and answers for the tests of drawings and sheets."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from typing import Any

from sillway.fit.check import Check, CheckClass, Finding, Margin, Settle
from sillway.fit.drive.scene import Prism, Verdict
from sillway.fit.known import Known
from sillway.fit.result import (
    Arrangement,
    Certificate,
    Condition,
    FitAnswer,
    Frame,
    Narrowest,
    Proof,
    SideView,
)
from sillway.records.measure import Way
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show.draw import motion

ON = dt.date(2026, 11, 25)


def _box(x0: float, x1: float, y0: float, y1: float) -> dict[str, Any]:
    return {"x": [x0, x1], "y": [y0, y1]}


def _van(side_entry: bool) -> dict[str, Any]:
    rear: dict[str, Any] = {
        "seats": [
            ("2L", 2, "left", _box(1500, 2000, 250, 740), _box(1500, 1800, 330, 740), False),
            ("2R", 2, "right", _box(1500, 2000, -740, -250), _box(1500, 1800, -740, -330), True),
            ("D", 1, "left", _box(2450, 2950, 170, 700), None, False),
            ("P", 1, "right", _box(2450, 2950, -700, -170), None, True),
        ],
        "place": _box(150, 1450, -430, 430),
        "anchors": [("R1", 120, 300), ("R2", 120, -300), ("F1", 1480, 250), ("F2", 1480, -250)],
        "solids": [
            ("left wheel house", _box(250, 900, 560, 760)),
            ("right wheel house", _box(250, 900, -760, -560)),
        ],
    }
    if side_entry:
        rear["place"] = _box(900, 2300, -400, 400)
        rear["seats"] = [
            ("D", 1, "left", _box(2450, 2950, 170, 700), None, False),
            ("P", 1, "right", _box(2450, 2950, -700, -170), None, True),
            ("3", 3, "middle", _box(80, 700, -500, 500), None, False),
        ]
        rear["anchors"] = [
            ("R1", 850, 300),
            ("R2", 850, -300),
            ("F1", 2350, 250),
            ("F2", 2350, -250),
        ]
        rear["solids"] = [("left wheel house", _box(60, 700, 560, 760))]
    return {
        "kind": "van", "units": "metric", "way": "tape", "invented": True,
        "stock_number": "T-104" if not side_entry else "T-207", "year": 2021,
        "make": "Marlwick", "model": "Tern",
        "conversion": {"entry": "side" if side_entry else "rear", "side": "right"},
        "ratings": {"gvwr": 2850, "wheelbase": 3000, "sill_to_rear_axle": 700},
        "ramp": {
            "operation": "manual", "length": 1500, "width_at_hinge": 863.6, "width_at_foot": 838.2,
            "rise": 250,
        },
        "door": {
            "width": 900, "height": 1420, **({"centre": 1500} if side_entry else {}),
        },
        "cabin": {
            "floor": _box(0, 3000, -760, 760), "height": 1480,
            "solids": [{"name": n, "outline": o} for n, o in rear["solids"]],
        },
        "seats": [
            {
                "id": i, "row": row, "side": side, "in_use": {"outline": use}, "comes_out": out,
                **({"folded": {"outline": fold}} if fold else {}),
            }
            for i, row, side, use, fold, out in rear["seats"]
        ],
        "securement": {
            "strap_anchors": [{"id": i, "x": x, "y": y} for i, x, y in rear["anchors"]],
        },
        "places": [
            {
                "id": "A", "kind": "cabin", "zone": rear["place"],
                "front_anchors": ["F1", "F2"], "rear_anchors": ["R1", "R2"],
            }
        ],
        "outside": {"length": 5100, "width": 2010, "height": 1800},
    }  # fmt: skip


def van(*, side_entry: bool = False, **changes: Any) -> Van:
    """An invented van."""
    record = {**_van(side_entry), **changes}
    return Van.model_validate(record, context={"metric": True, "way": Way.TAPE})


def rider(**changes: Any) -> Rider:
    """An invented rider in a mid-wheel chair."""
    record: dict[str, Any] = {
        "kind": "rider", "units": "metric", "invented": True, "name": "Dana Rook",
        "chair": {
            "drive": "mid-wheel drive", "length": 1080, "drive_axle_from_wall": 500,
            "layers": [
                {"name": "base", "bottom": 0, "top": 600, "back": 0, "front": 1080,
                 "width": 640},
                {"name": "head", "bottom": 600, "top": 1330, "back": 150, "front": 600,
                 "width": 520},
            ],
            "securement": {
                "front_points": {"from_wall": 760, "height": 250, "apart": 400},
                "rear_points": {"from_wall": 260, "height": 250, "apart": 400},
            },
        },
        **changes,
    }  # fmt: skip
    return Rider.model_validate(record, context={"metric": True, "way": Way.TAPE})


BODY = (
    Prism(((-500, -320), (580, -320), (580, 320), (-500, 320)), (0, 600), "base"),
    Prism(((-350, -260), (100, -260), (100, 260), (-350, 260)), (600, 1330), "head"),
)
SLOPE = math.asin(250 / 1500)


def known(name: str, value: float, half: float, unit: str, way: Way, typed: str) -> Known:
    """A measure with its tolerance."""
    return Known(name, value - half, value + half, unit, way, typed)


def checks() -> tuple[Check, ...]:
    """One check of every class and finding."""
    door = known("door.height", 1420, 3, "mm", Way.TAPE, "1420")
    head = known("chair.layers.head.top", 1330, 13, "mm", Way.REPORTED, "1330")
    anchor = known("securement.strap_anchors.F1.rating", 15000, 5000, "N", Way.ASSUMED, "assumed")
    curb = known("ratings.curb_total", 2300, 120, "kg", Way.ASSUMED, "assumed (curb)")
    return (
        Check(
            "ramp.header", "Does the head pass under the header?", CheckClass.PHYSICAL,
            Finding.HOLDS, Margin(12.0, 44.0, "mm"), "more than 0 in left",
            "1/2 in (12 mm) at the bad end", (door, head), "geometry of the climb",
        ),
        Check(
            "drive.in", "Can the chair be driven from the door to its place?", CheckClass.PHYSICAL,
            Finding.HOLDS, Margin(29.0, 41.0, "mm"), "a way without touching",
            "narrowest 1 1/8 in (29 mm)", (door,), "certificate of the way",
        ),
        Check(
            "load.gross", "Is the van within its gross rating with everybody aboard?",
            CheckClass.RATING, Finding.HOLDS, Margin(112.0, 352.0, "kg"), "6283 lb (2850 kg)",
            "6036 lb (2738 kg) at most", (curb,), "certification label; seen on the van",
        ),
        Check(
            "place.straps.rating", "Are the anchors rated for this chair?", CheckClass.RATING,
            Finding.NOT_ASSESSED, None, "a rating on the anchors", "not measured", (anchor,),
            "49 CFR 38.23(d)(2), in force 1991-10-07, seen",
            (Settle("securement.strap_anchors.F1.rating", "read the rating off the anchor"),),
        ),
        Check(
            "place.lap_belt.angle", "Does the lap belt run at a good angle?", CheckClass.PRACTICE,
            Finding.FAILS, Margin(-9.0, -2.0, "deg"), "45 to 75 deg", "38.0 deg", (),
            "ISO 10542-1, from memory", (), "a qualified installer", "Move the belt anchor back.",
        ),
        Check(
            "ramp.slope.road", "Is the ramp no steeper than a new public vehicle's may be?",
            CheckClass.YARDSTICK, Finding.FAILS, Margin(-0.9, -0.4, "deg"), "9.5 deg (1:6.0)",
            "9.6 deg (1:5.9)", (), "36 CFR 1192 App. A T402.8.1, in force 2017-01-13, seen",
        ),
    )  # fmt: skip


def side_view(tall: float = 1330.0) -> SideView:
    """The climb with the head nearest the header."""
    run = math.sqrt(1500**2 - 250**2)
    c, s = math.cos(SLOPE), math.sin(SLOPE)

    def up(point: tuple[float, float]) -> tuple[float, float]:
        x, z = point
        return (-180 + x * c - z * s, -180 * math.tan(SLOPE) + x * s + z * c)

    base = [up(p) for p in ((-500, 60), (580, 60), (580, 600), (-500, 600))]
    head = [up(p) for p in ((-350, 600), (100, 600), (100, tall), (-350, tall))]
    wheels = tuple((*up((x, 160)), 160.0) for x in (0.0, 420.0, -380.0))
    tip = head[2]
    return SideView(
        "The head is nearest the header when the chair stands on the upper ramp.",
        ((-2000, -250), (-run, -250), (0, 0), (3000, 0)),
        (((0, 1420), (90, 1420)), ((90, 1480), (3000, 1480))),
        (tuple(base), tuple(head)),
        wheels,
        (tip, (tip[0], 1420)),
        1420 - tip[1],
        "ramp.header",
    )


def certificate(*, side_entry: bool = False) -> Certificate:
    """A way in: straight, or straight and one turn."""
    if side_entry:
        path = (
            (1500.0, -1400.0, math.pi / 2), (1500.0, 0.0, math.pi / 2), (1500.0, 0.0, 0.0),
            (1560.0, 0.0, 0.0),
        )  # fmt: skip
        spot = Narrowest(
            (1500.0, 0.0, 0.6), (2075.0, 250.0), (2104.0, 250.0), "base", "seat P", 29.0
        )
    else:
        path = ((-1100.0, 0.0, 0.0), (700.0, 0.0, 0.0))
        spot = Narrowest((100.0, 0.0, 0.0), (300.0, 320.0), (300.0, 560.0), "base",
                         "left wheel house", 29.0)  # fmt: skip
    obstacles = (Prism(((250, 560), (900, 560), (900, 760), (250, 760)), (0, 1480), "wheel house"),)
    return Certificate(obstacles, BODY, path, {}, 29.0, spot)


def fits(*, side_entry: bool = False, deciding: str = "ramp.header") -> FitAnswer:
    """An answer that fits with one condition."""
    way = certificate(side_entry=side_entry)
    frames = tuple(
        Frame(pose, 29.0 + i, *_stand(pose, side_entry))
        for i, pose in enumerate(motion.along(way.path, way.arcs, 60.0, 0.1))
    )
    all_checks = checks()
    return FitAnswer(
        verdict=Verdict.CONDITIONS, van="2021 Marlwick Tern, stock T-104", rider="Dana Rook", on=ON,
        posture="upright",
        arrangement=Arrangement(
            "A", "cabin", "forwards",
            {"D": "in use", "P": "out", "3": "in use"} if side_entry
            else {"2L": "folded", "2R": "out", "D": "in use", "P": "in use"},
            {"Sam Rook (drives)": "D"},
        ),
        checks=all_checks,
        conditions=(
            Condition("place.lap_belt.angle", "The lap belt lies too flat by 2 degrees.",
                      "a qualified installer"),
        ),
        settle=(Settle("securement.strap_anchors.F1.rating", "read the rating off the anchor"),),
        assumed=tuple(k for check in all_checks for k in check.assumed),
        certificate=way, proof=None, deciding=deciding,
        spare=("The chair may be 1 1/8 in (29 mm) wider.",),
        side_views=(side_view(),), place_pose=way.path[-1], body=BODY, playback=frames,
    )  # fmt: skip


def _stand(pose: tuple[float, float, float], side_entry: bool) -> tuple[float, float]:
    s = pose[1] + 760 if side_entry else pose[0]
    return (s * math.tan(SLOPE), SLOPE) if s < -300 else (0.0, 0.0)


def close_call() -> FitAnswer:
    """An answer that cannot be given yet."""
    first, *rest = checks()
    first = dataclasses.replace(
        first, finding=Finding.CLOSE, margin=Margin(-6.0, 26.0, "mm"),
        settle=(Settle("chair.layers.head.top", "measure again, closer than ±13 mm", "1330"),),
    )  # fmt: skip
    return dataclasses.replace(
        fits(), verdict=Verdict.CLOSE, checks=(first, *rest), settle=first.settle, certificate=None,
        playback=(),
    )  # fmt: skip


def does_not_fit() -> FitAnswer:
    """An answer that is no, with its proof."""
    first, second, *rest = checks()
    second = dataclasses.replace(second, finding=Finding.FAILS, margin=Margin(-44.0, -21.0, "mm"))
    pinch = Narrowest((1500.0, -250.0, 1.2), (1280.0, 260.0), (1280.0, 239.0), "base", "seat D",
                      -21.0)  # fmt: skip
    return dataclasses.replace(
        fits(side_entry=True), verdict=Verdict.NO, checks=(first, second, *rest),
        deciding="drive.in",
        conditions=(), settle=(), certificate=None, playback=(), place_pose=None, arrangement=None,
        proof=Proof(
            ("place A, forwards, upright, seats D in use", "place A, backing, upright"),
            ("the way is closed by 13/16 in (21 mm) between base and seat D",
             "the way is closed by 1 1/4 in (32 mm) between base and the pillar"),
            {}, pinch,
        ),
        spare=(),
    )  # fmt: skip
