"""An independent re-check of a drive certificate, on shapely.

Reads the certificate as JSON data and shares nothing with the engine that wrote it. A drive is
held against the hull of its two ends (exact for a convex body). A turn or an arc is cut into
pieces; each piece is held against the hull of its ends, less the height of the arc over its chord:
every body point stays within that height of a chord, and the chords lie in the hull.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import shapely
from shapely import Polygon
from shapely.affinity import affine_transform

# How far the re-check may fall short of the claim and still accept it [mm]. Below the
# half millimetre under which nothing is claimed, by a factor of 50.
TOLERANCE_MM = 0.01
# How exactly poses have to join. At 2 m from the axle 1e-7 rad moves a point 2e-4 mm.
JOIN_MM = 1e-3
JOIN_RAD = 1e-7
# A piece this small has an arc height below 1e-9 mm: if it still fails, the claim is false.
_SMALLEST_PIECE_RAD = 1e-6

_Pose = tuple[float, float, float]
_Layer = tuple[Polygon, float, float]


def recheck_path(
    certificate: dict[str, Any], *, min_turn_radius_mm: float | None = None
) -> list[str]:
    """Return the faults of a certificate; an empty list means that its claim holds.

    Args:
        certificate: ``{"obstacles":[{"polygon","z"}], "body":[…], "path":[[x,y,theta],…],
            "claimed_clearance": c}`` in mm and rad, with ``"arcs": {"index": [cx, cy]}`` for a
            drive that steers like a car. Headings are not wrapped: a turn sweeps from one number
            to the next.
        min_turn_radius_mm: where given, the body steers like a car: no turn on the spot, and no
            arc of a smaller radius about a point on the drive axle's line.

    >>> square = [[-10, -10], [10, -10], [10, 10], [-10, 10]]
    >>> wall = [[0, 15], [100, 15], [100, 20], [0, 20]]
    >>> claim = {"obstacles": [{"polygon": wall, "z": [0, 9]}],
    ...          "body": [{"polygon": square, "z": [0, 9]}],
    ...          "path": [[0, 0, 0], [80, 0, 0]], "claimed_clearance": 5.0}
    >>> recheck_path(claim)
    []
    >>> recheck_path(claim | {"claimed_clearance": 5.1})
    ['segment 0: clearance is 5.000 mm, claimed 5.100 mm']
    """
    try:
        obstacles = [_layer(o) for o in certificate["obstacles"]]
        body = [_layer(b) for b in certificate["body"]]
        path = [_pose(p) for p in certificate["path"]]
        claim = float(certificate["claimed_clearance"])
        arcs = {int(k): _point(c) for k, c in (certificate.get("arcs") or {}).items()}
    except (KeyError, TypeError, ValueError) as e:
        return [f"cannot be read: {type(e).__name__}: {e}"]
    if not body:
        return ["the body is empty"]
    if not path:
        return ["the path is empty"]
    if not math.isfinite(claim):
        return ["the claimed clearance is not a number"]
    bad_arcs = [k for k in arcs if not 0 <= k < len(path) - 1]
    faults = [f"arc {k}: there is no such segment" for k in bad_arcs]
    pairs = [(b[0], o[0]) for b in body for o in obstacles if max(b[1], o[1]) < min(b[2], o[2])]
    if len(path) == 1:
        faults += _seen("pose 0", _clearance_at(path[0], pairs), claim)
    for i, (a, b) in enumerate(pairwise(path)):
        join = _join_fault(a, b, arcs.get(i), min_turn_radius_mm)
        if join:
            faults.append(f"segment {i}: {join}")
        else:
            faults += _seen(f"segment {i}", _shortfall(a, b, arcs.get(i), pairs, claim), claim)
    return faults


def _seen(where: str, clearance: float | None, claim: float) -> list[str]:
    """The fault where the clearance seen there is too small for the claim."""
    if clearance is None or clearance >= claim - TOLERANCE_MM:
        return []
    return [f"{where}: clearance is {clearance:.3f} mm, claimed {claim:.3f} mm"]


def _layer(row: dict[str, Any]) -> _Layer:
    polygon = Polygon([_point(p) for p in row["polygon"]])
    z0, z1 = (float(z) for z in row["z"])
    if not polygon.is_valid or polygon.area <= 0:
        raise ValueError("a polygon is degenerate or crosses itself")
    if not z0 < z1:
        raise ValueError("a z-range is empty")
    return polygon, z0, z1


def _point(row: Sequence[float]) -> tuple[float, float]:
    x, y = (float(v) for v in row)
    if not (math.isfinite(x) and math.isfinite(y)):
        raise ValueError("a coordinate is not finite")
    return x, y


def _pose(row: Sequence[float]) -> _Pose:
    x, y, theta = (float(v) for v in row)
    if not all(math.isfinite(v) for v in (x, y, theta)):
        raise ValueError("a pose is not finite")
    return x, y, theta


def _join_fault(
    a: _Pose, b: _Pose, centre: tuple[float, float] | None, radius_min: float | None
) -> str | None:
    """Why the two poses are not joined by an allowed motion, or None."""
    dx, dy, turn = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    c, s = math.cos(a[2]), math.sin(a[2])
    if centre is not None:
        rx, ry = centre[0] - a[0], centre[1] - a[1]
        if abs(rx * c + ry * s) > JOIN_MM:
            return "the arc's centre is not on the drive axle's line"
        if radius_min is not None and math.hypot(rx, ry) < radius_min - JOIN_MM:
            return f"the arc's radius {math.hypot(rx, ry):.1f} mm is below {radius_min:.1f} mm"
        ct, st = math.cos(turn), math.sin(turn)
        x = centre[0] - rx * ct + ry * st
        y = centre[1] - rx * st - ry * ct
        if math.hypot(x - b[0], y - b[1]) > JOIN_MM:
            return "the arc does not end at the next pose"
        return None
    if abs(turn) <= JOIN_RAD:
        if abs(dy * c - dx * s) > JOIN_MM:
            return "a straight drive has to follow the heading"
        return None
    if math.hypot(dx, dy) > JOIN_MM:
        return "neither a straight drive nor a turn on the spot"
    if radius_min is not None:
        return "a car-like drive cannot turn on the spot"
    return None


def _placed(polygon: Polygon, pose: _Pose) -> Polygon:
    c, s = math.cos(pose[2]), math.sin(pose[2])
    return affine_transform(polygon, [c, -s, s, c, pose[0], pose[1]])


def _hull(polygon: Polygon, a: _Pose, b: _Pose) -> Polygon:
    return shapely.union(_placed(polygon, a), _placed(polygon, b)).convex_hull


def _clearance_at(pose: _Pose, pairs: list[tuple[Polygon, Polygon]]) -> float | None:
    return min((_placed(b, pose).distance(o) for b, o in pairs), default=None)


def _shortfall(
    a: _Pose,
    b: _Pose,
    centre: tuple[float, float] | None,
    pairs: list[tuple[Polygon, Polygon]],
    claim: float,
) -> float | None:
    """A clearance seen on the way that is too small for the claim, or None."""
    turn = b[2] - a[2]
    if abs(turn) <= JOIN_RAD:
        near = (_hull(body, a, b).distance(o) for body, o in pairs)
        worst = min(near, default=math.inf)
        return worst if worst < claim - TOLERANCE_MM else None
    pivot = centre or (a[0], a[1])
    for body, obstacle in pairs:
        reach = max(
            math.hypot(x - pivot[0], y - pivot[1]) for x, y in _placed(body, a).exterior.coords
        )
        for seen in _failing_pieces(a, turn, pivot, reach, body, obstacle, claim):
            return seen
    return None


def _failing_pieces(
    a: _Pose,
    turn: float,
    pivot: tuple[float, float],
    reach: float,
    body: Polygon,
    obstacle: Polygon,
    claim: float,
) -> Iterator[float]:
    """Clearances, too small for the claim, of pieces of a turn about the pivot."""

    def at(angle: float) -> _Pose:
        ct, st = math.cos(angle), math.sin(angle)
        rx, ry = a[0] - pivot[0], a[1] - pivot[1]
        return pivot[0] + rx * ct - ry * st, pivot[1] + rx * st + ry * ct, a[2] + angle

    # Pieces of at most a radian keep every arc below a half circle.
    n = max(1, math.ceil(abs(turn)))
    stack = [(turn * k / n, turn * (k + 1) / n) for k in range(n)]
    while stack:
        lo, hi = stack.pop()
        height = reach * (1.0 - math.cos(abs(hi - lo) / 2.0))
        if _hull(body, at(lo), at(hi)).distance(obstacle) - height >= claim - TOLERANCE_MM:
            continue
        middle = (lo + hi) / 2.0
        here = min(_placed(body, at(angle)).distance(obstacle) for angle in (lo, middle, hi))
        if here < claim - TOLERANCE_MM or abs(hi - lo) < _SMALLEST_PIECE_RAD:
            yield here
        else:
            stack += [(lo, middle), (middle, hi)]
