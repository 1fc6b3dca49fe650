"""Compiled geometry of one body in one cabin: distance, clearance, and swept lower bounds.

Every bound returned already has the scene's floating guard (packed.GUARD_PER_MM) taken off on the
safe side; see there why it suffices. Nothing allocates per pose.

The central fact: if a fixed world direction u separates two convex sets by s, their distance is at
least s. While a body turns, its support along u is known exactly (a cos phi + b sin phi per
vertex), so one direction, taken at the middle of a motion, bounds the distance over the whole of
it, and errs only by second order in the motion's length. Halving the motion makes it as tight as
asked.
"""

# The compiled functions are typed by their signatures.
# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

import math

import numpy as np

from sillway.fit.drive.jit import SCENE, compiled
from sillway.fit.drive.packed import Packed
from sillway.fit.drive.scene import Pose

# A swept bound stops halving when it is this close to a clearance that is attained [mm].
TIGHT_MM = 0.02
# Motions are halved at most this often (a 10 m drive: 0.01 mm pieces); then the bound stands as is.
DEEPEST = 20

D5 = "Tuple((float64,float64,float64,float64,float64))"


@compiled(f"{D5}(float64[:,::1],float64[::1],int64,float64,float64,float64,float64,int64,int64)")
def wall_distance(geo, room, wall, x, y, c, s, b0, b1):
    """Signed distance of a body from wall -1 .. -4; direction into the room; nearest body point."""
    ux, uy, offset = 1.0, 0.0, room[0]
    if wall == -2:
        ux, offset = -1.0, -room[2]
    elif wall == -3:
        ux, uy, offset = 0.0, 1.0, room[1]
    elif wall == -4:
        ux, uy, offset = 0.0, -1.0, -room[3]
    bx, by = c * ux + s * uy, c * uy - s * ux
    low, at = math.inf, b0
    for i in range(b0, b1):
        p = bx * geo[i, 0] + by * geo[i, 1]
        if p < low:
            low, at = p, i
    px, py = c * geo[at, 0] - s * geo[at, 1], s * geo[at, 0] + c * geo[at, 1]
    return low + ux * x + uy * y - offset, ux, uy, px, py


@compiled(
    f"{D5}(float64[:,::1],int64[:,::1],float64[::1],int64,int64,"
    "float64,float64,float64,float64,float64)"
)
def pair_distance(geo, poly, room, bi, oi, x, y, c, s, enough):
    """Signed distance of polygons bi (body, at x, y, cos c, sin s) and oi (obstacle or wall).

    Exact below ``enough``: distance when apart, minus the least translation that parts them when
    they overlap; at or above ``enough`` it may be a lower bound. With it: the unit direction from
    obstacle to body that gives it, and the body's nearest point relative to its origin (world
    axes). Without floating guard.
    """
    b0, b1 = poly[bi, 0], poly[bi, 1]
    if oi < 0:
        return wall_distance(geo, room, oi, x, y, c, s, b0, b1)
    o0, o1 = poly[oi, 0], poly[oi, 1]
    best, edge, corner, of_body = -math.inf, o0, b0, False
    for j in range(o0, o1):
        nx, ny = geo[j, 2], geo[j, 3]
        bx, by = c * nx + s * ny, c * ny - s * nx
        low, at = math.inf, b0
        for i in range(b0, b1):
            p = bx * geo[i, 0] + by * geo[i, 1]
            if p < low:
                low, at = p, i
        sep = low + nx * x + ny * y - geo[j, 4]
        if sep > best:
            best, edge, corner = sep, j, at
    for i in range(b0, b1):
        mx, my = c * geo[i, 2] - s * geo[i, 3], s * geo[i, 2] + c * geo[i, 3]
        low, at = math.inf, o0
        for j in range(o0, o1):
            p = mx * geo[j, 0] + my * geo[j, 1]
            if p < low:
                low, at = p, j
        sep = low - mx * x - my * y - geo[i, 4]
        if sep > best:
            best, edge, corner, of_body = sep, i, at, True
    if of_body:
        ux, uy = s * geo[edge, 3] - c * geo[edge, 2], -s * geo[edge, 2] - c * geo[edge, 3]
        wx, wy = geo[corner, 0] - x, geo[corner, 1] - y
        # The obstacle's corner in the body's frame, along the body's edge.
        qx, qy = c * wx + s * wy - geo[edge, 0], c * wy - s * wx - geo[edge, 1]
        along = qy * geo[edge, 2] - qx * geo[edge, 3]
        px, py = wx + best * ux, wy + best * uy
    else:
        ux, uy = geo[edge, 2], geo[edge, 3]
        px = c * geo[corner, 0] - s * geo[corner, 1]
        py = s * geo[corner, 0] + c * geo[corner, 1]
        qx, qy = px + x - geo[edge, 0], py + y - geo[edge, 1]
        along = qy * ux - qx * uy
    if best <= 0.0 or best >= enough or 0.0 <= along <= geo[edge, 6]:
        return best, ux, uy, px, py
    # Corner against corner: the separating axis falls short of the distance.
    square = math.inf
    for i in range(b0, b1):
        vx, vy = c * geo[i, 0] - s * geo[i, 1], s * geo[i, 0] + c * geo[i, 1]
        for j in range(o0, o1):
            dx, dy = vx + x - geo[j, 0], vy + y - geo[j, 1]
            t = dy * geo[j, 2] - dx * geo[j, 3]
            t = min(max(t, 0.0), geo[j, 6])
            ex, ey = dx + t * geo[j, 3], dy - t * geo[j, 2]
            d2 = ex * ex + ey * ey
            if d2 < square:
                square, ux, uy, px, py = d2, ex, ey, vx, vy
            # The obstacle's corner j against the body's edge i.
            fx, fy = -(c * dx + s * dy), s * dx - c * dy
            t = fy * geo[i, 2] - fx * geo[i, 3]
            t = min(max(t, 0.0), geo[i, 6])
            # Nearest point of the edge, from the body's corner, back in world axes.
            gx, gy = -t * geo[i, 3], t * geo[i, 2]
            hx, hy = c * gx - s * gy, s * gx + c * gy
            ex, ey = dx + hx, dy + hy
            d2 = ex * ex + ey * ey
            if d2 < square:
                square, ux, uy, px, py = d2, ex, ey, vx + hx, vy + hy
    distance = math.sqrt(square)
    if distance <= best or distance == 0.0:
        if of_body:
            ux, uy = s * geo[edge, 3] - c * geo[edge, 2], -s * geo[edge, 2] - c * geo[edge, 3]
        else:
            ux, uy = geo[edge, 2], geo[edge, 3]
        return best, ux, uy, px, py
    return distance, ux / distance, uy / distance, px, py


@compiled("float64(float64[:,::1],int64,int64,float64,float64,float64,float64,float64)")
def gap_below(ball, bi, oi, x, y, c, s, more):
    """A cheap lower bound: enclosing circle of the body against the obstacle's bounding box."""
    px, py = x + c * ball[bi, 0] - s * ball[bi, 1], y + s * ball[bi, 0] + c * ball[bi, 1]
    dx = max(ball[oi, 3] - px, px - ball[oi, 5], 0.0)
    dy = max(ball[oi, 4] - py, py - ball[oi, 6], 0.0)
    return math.sqrt(dx * dx + dy * dy) - ball[bi, 2] - more


@compiled(f"Tuple((float64,int64))({SCENE},float64,float64,float64,float64)")
def clearance(geo, poly, ball, pairs, room, x, y, theta, enough):
    """Least signed distance at a pose, at most ``enough``, and the row of ``pairs`` it is at.

    Below ``enough`` it is exact up to twice the guard, and never above the true value. The row is
    -1 where everything is at least ``enough`` away.
    """
    c, s = math.cos(theta), math.sin(theta)
    best, which = enough + room[4], -1
    for k in range(pairs.shape[0]):
        bi, oi = pairs[k, 0], pairs[k, 1]
        if oi >= 0 and best > 0.0 and gap_below(ball, bi, oi, x, y, c, s, 0.0) >= best:
            continue
        d = pair_distance(geo, poly, room, bi, oi, x, y, c, s, best)[0]
        if d < best:
            best, which = d, k
    return best - room[4], which


@compiled(
    "float64(float64[:,::1],int64,int64,float64,float64,float64,float64,float64,float64,float64,"
    "float64)"
)
def turn_loss(geo, b0, b1, rx, ry, c, s, ux, uy, cos_half, sin_half):
    """By how much a body's support against u falls while it turns by up to +-half about a centre.

    (rx, ry) is the body's origin from the centre, at the middle of the turn; half <= pi / 2 (a
    negative cos_half stands for anything wider).
    """
    middle, arc = math.inf, math.inf
    for i in range(b0, b1):
        qx = rx + c * geo[i, 0] - s * geo[i, 1]
        qy = ry + s * geo[i, 0] + c * geo[i, 1]
        a = ux * qx + uy * qy
        b = abs(ux * qy - uy * qx)
        middle = min(middle, a)
        if cos_half < 0.0 or (a < 0.0 and b * cos_half <= -a * sin_half):
            arc = min(arc, -math.sqrt(a * a + b * b))
        else:
            arc = min(arc, a * cos_half - b * sin_half)
    return middle - arc


MOTION = "float64,float64,float64,float64,float64,float64,float64"


@compiled(f"Tuple((float64,int64))({SCENE},{MOTION},float64,float64)")
def motion_clearance(
    geo, poly, ball, pairs, room, x, y, theta, length, dtheta, cx, cy, least, enough
):
    """A lower bound of the clearance over a whole motion, at most ``enough``, and its pair.

    The motion is a straight drive of signed ``length`` (dtheta 0) or a turn by ``dtheta`` about
    (cx, cy) (length 0). A value of at least ``least`` is guaranteed for every pose of the motion,
    and no pose of it is more than TIGHT_MM + guards above it unless it is ``enough``. A value
    below ``least`` says that the motion does not keep ``least``; the work stops at the first pose
    found that does not.
    """
    c0, s0 = math.cos(theta), math.sin(theta)
    turning = dtheta != 0.0
    guard = room[4]
    goal = enough + guard
    found, which = goal, -1  # least bound so far
    seen = goal  # least clearance attained so far
    if turning:
        rx0, ry0 = x - cx, y - cy
        span = math.sqrt(rx0 * rx0 + ry0 * ry0) * abs(dtheta)
    else:
        rx0, ry0 = 0.0, 0.0
        span = abs(length)
    for k in range(pairs.shape[0]):
        bi, oi = pairs[k, 0], pairs[k, 1]
        b0, b1 = poly[bi, 0], poly[bi, 1]
        step, level = 0, 0
        while True:
            width = 1.0 / (1 << level)
            t = (step + 0.5) * width
            if turning:
                ct, st = math.cos(t * dtheta), math.sin(t * dtheta)
                c, s = c0 * ct - s0 * st, s0 * ct + c0 * st
                rx, ry = rx0 * ct - ry0 * st, rx0 * st + ry0 * ct
                px, py = cx + rx, cy + ry
                # Within the piece the enclosing circle's centre moves along an arc.
                bx = rx + c * ball[bi, 0] - s * ball[bi, 1]
                by = ry + s * ball[bi, 0] + c * ball[bi, 1]
                moved = math.sqrt(bx * bx + by * by) * abs(dtheta) * width * 0.5
            else:
                c, s = c0, s0
                rx, ry = 0.0, 0.0
                px, py = x + t * length * c0, y + t * length * s0
                moved = span * width * 0.5
            wanted = min(found, seen - TIGHT_MM)
            bound = -math.inf
            if oi >= 0:
                bound = gap_below(ball, bi, oi, px, py, c, s, moved)
            if bound < wanted or bound < 0.0:
                more = found + 2.0 * moved
                if turning:
                    more += room[5] * abs(dtheta) * width
                d, ux, uy, _, _ = pair_distance(geo, poly, room, bi, oi, px, py, c, s, more)
                if d - guard < least:
                    return d - guard, k
                if d < seen:
                    seen = d
                    wanted = min(found, seen - TIGHT_MM)
                if turning:
                    half = 0.5 * abs(dtheta) * width
                    loss = turn_loss(
                        geo,
                        b0,
                        b1,
                        rx,
                        ry,
                        c,
                        s,
                        ux,
                        uy,
                        math.cos(half) if half < 1.57 else -1.0,
                        math.sin(half),
                    )
                else:
                    loss = moved * abs(ux * c + uy * s)
                bound = d - loss
            if bound < wanted and level < DEEPEST:
                step, level = 2 * step, level + 1
                continue
            if bound < found:
                found, which = bound, k
                if found - guard < least and level >= DEEPEST:
                    return found - guard, which
            # On to the next piece: climb while this one is a right half.
            while level > 0 and step & 1:
                step, level = step >> 1, level - 1
            if level == 0:
                break
            step += 1
    return found - guard, which


@compiled(f"float64({SCENE},float64,float64,float64,float64,float64,float64)")
def straight_clearance(geo, poly, ball, pairs, room, x, y, theta, length, least, enough):
    """Lower bound of the clearance over a straight drive; see motion_clearance."""
    return motion_clearance(
        geo, poly, ball, pairs, room, x, y, theta, length, 0.0, 0.0, 0.0, least, enough
    )[0]


@compiled(f"float64({SCENE},float64,float64,float64,float64,float64,float64,float64,float64)")
def turn_clearance(geo, poly, ball, pairs, room, x, y, theta, dtheta, cx, cy, least, enough):
    """Lower bound of the clearance over a turn by dtheta about (cx, cy); see motion_clearance."""
    return motion_clearance(
        geo, poly, ball, pairs, room, x, y, theta, 0.0, dtheta, cx, cy, least, enough
    )[0]


def pose_clearance(packed: Packed, pose: Pose, enough: float = math.inf) -> tuple[float, int]:
    """Clearance [mm] of a pose, capped at ``enough``, and the row of ``packed.pairs`` it is at."""
    distance, pair = clearance(*packed, *pose, enough)
    return float(distance), int(pair)


def straight(packed: Packed, pose: Pose, length: float, enough: float = math.inf) -> float:
    """Guaranteed clearance [mm] of a straight drive of signed length [mm] (negative: collides)."""
    return float(straight_clearance(*packed, *pose, length, 0.0, enough))


def turn(
    packed: Packed, pose: Pose, dtheta: float, centre: tuple[float, float], enough: float = math.inf
) -> float:
    """Guaranteed clearance [mm] of a turn by dtheta [rad] about a world point."""
    return float(turn_clearance(*packed, *pose, dtheta, *centre, 0.0, enough))


def turned(pose: Pose, dtheta: float, centre: tuple[float, float]) -> Pose:
    """The pose after a turn by dtheta about a world point."""
    c, s = np.cos(dtheta), np.sin(dtheta)
    dx, dy = pose[0] - centre[0], pose[1] - centre[1]
    return (centre[0] + c * dx - s * dy, centre[1] + s * dx + c * dy, pose[2] + dtheta)
