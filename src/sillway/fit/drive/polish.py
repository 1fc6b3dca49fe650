"""Move a rough path clear of the walls: least squares on what it lacks of a wanted clearance.

A path is a start pose and a list of motions, each a turn about a point on the axle's line (the
origin itself for a turn on the spot) or a straight drive. Changing the amount of one motion moves
all that follows rigidly, so every derivative is that of a rotation or a shift. Samples guide; what
comes out is judged elsewhere, by swept bounds.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sillway.fit.drive.jit import SCENE, compiled
from sillway.fit.drive.kernel import gap_below, pair_distance
from sillway.fit.drive.lattice import outside

# Samples along a motion: a body point moves about this far between two of them.
SAMPLE_MM = 14.0
MOST_SAMPLES = 48


@compiled("void(float64[:,::1],float64[::1],float64[:,::1])")
def lay_out(motions, start, out):  # type: ignore[no-untyped-def]
    """Fill ``out`` with pose (3) and turning centre (2) at the beginning of every motion, and last.

    A motion is (kind, amount, side): kind 0 turns by amount about the point ``side`` to the left,
    kind 1 drives straight by amount.
    """
    x, y, t = start[0], start[1], start[2]
    n = motions.shape[0]
    for k in range(n + 1):
        c, s = math.cos(t), math.sin(t)
        out[k, 0], out[k, 1], out[k, 2] = x, y, t
        if k == n:
            break
        side = motions[k, 2]
        out[k, 3], out[k, 4] = x - side * s, y + side * c
        if motions[k, 0] == 1.0:
            x, y = x + motions[k, 1] * c, y + motions[k, 1] * s
        else:
            a = motions[k, 1]
            t = t + a
            x = out[k, 3] + side * math.sin(t)
            y = out[k, 4] - side * math.cos(t)


@compiled(
    f"Tuple((float64,float64,float64))({SCENE},float64[:,::1],float64[:,::1],float64[::1],"
    "float64[::1],float64,float64,float64[:,::1],float64[::1],boolean)"
)
def gather(geo, poly, ball, pairs, room, motions, laid, box, goal, target, pull, jtj, jtr, grads):  # type: ignore[no-untyped-def]
    """Sum the squared lacks of clearance and the goal's misses; with ``grads``, JtJ and Jtr.

    Variables: the amounts of the motions, then start x, y, theta. Returns the sum, the least
    clearance sampled (at most target) and the goal's miss [mm].
    """
    n = motions.shape[0]
    m = n + 3
    if grads:
        jtj[:, :] = 0.0
        jtr[:] = 0.0
    row = np.empty(m)
    total, least = 0.0, target
    reach = room[5]
    for k in range(n):
        kind, amount, side = motions[k, 0], motions[k, 1], motions[k, 2]
        length = abs(amount) * (1.0 if kind == 1.0 else reach + abs(side))
        count = min(MOST_SAMPLES, int(length / SAMPLE_MM) + 1)
        x0, y0, t0, cx, cy = laid[k, 0], laid[k, 1], laid[k, 2], laid[k, 3], laid[k, 4]
        for i in range(1 if k > 0 else 0, count + 1):
            f = i / count
            if kind == 1.0:
                t = t0
                c, s = math.cos(t), math.sin(t)
                x, y = x0 + f * amount * c, y0 + f * amount * s
            else:
                t = t0 + f * amount
                c, s = math.cos(t), math.sin(t)
                x, y = cx + side * s, cy - side * c
            for q in range(pairs.shape[0]):
                bi, oi = pairs[q, 0], pairs[q, 1]
                if oi >= 0 and gap_below(ball, bi, oi, x, y, c, s, 0.0) >= target:
                    continue
                d, ux, uy, bx, by = pair_distance(geo, poly, room, bi, oi, x, y, c, s, target)
                if d >= target:
                    continue
                lack = target - d
                total += lack * lack
                least = min(least, d)
                if not grads:
                    continue
                wx, wy = x + bx, y + by
                for j in range(k + 1):
                    if motions[j, 0] == 1.0:
                        g = ux * math.cos(laid[j, 2]) + uy * math.sin(laid[j, 2])
                    else:
                        g = uy * (wx - laid[j, 3]) - ux * (wy - laid[j, 4])
                    row[j] = g * f if j == k else g
                row[n], row[n + 1] = ux, uy
                row[n + 2] = uy * (wx - laid[0, 0]) - ux * (wy - laid[0, 1])
                for a in range(m):
                    if n > a > k:
                        continue
                    jtr[a] -= row[a] * lack
                    for b in range(a + 1):
                        if n > b > k:
                            continue
                        jtj[a, b] += row[a] * row[b]
    gx, gy, gt = laid[n, 0], laid[n, 1], laid[n, 2]
    ex, ey = outside(gx, goal[0], goal[1]), outside(gy, goal[2], goal[3])
    et = outside(gt, goal[4], goal[5]) * reach
    miss = math.sqrt(ex * ex + ey * ey + et * et)
    total += pull * miss * miss
    if grads:
        for axis in range(3):
            e = ex if axis == 0 else (ey if axis == 1 else et)
            if e == 0.0:
                continue
            for j in range(n):
                if motions[j, 0] == 1.0:
                    if axis == 0:
                        row[j] = math.cos(laid[j, 2])
                    elif axis == 1:
                        row[j] = math.sin(laid[j, 2])
                    else:
                        row[j] = 0.0
                elif axis == 0:
                    row[j] = laid[j, 4] - gy
                elif axis == 1:
                    row[j] = gx - laid[j, 3]
                else:
                    row[j] = reach
            row[n] = 1.0 if axis == 0 else 0.0
            row[n + 1] = 1.0 if axis == 1 else 0.0
            row[n + 2] = laid[0, 1] - gy if axis == 0 else (gx - laid[0, 0] if axis == 1 else reach)
            for a in range(m):
                jtr[a] += pull * row[a] * e
                for b in range(a + 1):
                    jtj[a, b] += pull * row[a] * row[b]
        for a in range(m):
            for b in range(a):
                jtj[b, a] = jtj[a, b]
    return total, least, miss


@njit("boolean(float64[:,::1],float64[::1],int64)", cache=True)
def solve_spd(a, b, m):  # type: ignore[no-untyped-def]
    """Solve a z = b in place for a symmetric positive matrix (Cholesky); False if it is not."""
    for i in range(m):
        for j in range(i + 1):
            v = a[i, j]
            for k in range(j):
                v -= a[i, k] * a[j, k]
            if i == j:
                if v <= 0.0:
                    return False
                a[i, i] = math.sqrt(v)
            else:
                a[i, j] = v / a[j, j]
    for i in range(m):
        v = b[i]
        for k in range(i):
            v -= a[i, k] * b[k]
        b[i] = v / a[i, i]
    for i in range(m - 1, -1, -1):
        v = b[i]
        for k in range(i + 1, m):
            v -= a[k, i] * b[k]
        b[i] = v / a[i, i]
    return True


@compiled(
    f"Tuple((float64,float64,int64))({SCENE},float64[:,::1],float64[::1],float64[::1],"
    "float64[::1],float64[::1],float64,int64)"
)
def push_clear(geo, poly, ball, pairs, room, motions, signs, start, box, goal, target, rounds):  # type: ignore[no-untyped-def]
    """Change motions and start in place until every sample keeps ``target``, if it can.

    Drives keep their sign (``signs``: 1 forwards, -1 backwards, 0 free). ``box``: start x0, x1, y0,
    y1, theta0, theta1; ``goal`` likewise, the heading shifted by whole turns to the path's own.
    Returns the least clearance sampled, the goal's miss [mm] and the rounds used.
    """
    n = motions.shape[0]
    m = n + 3
    reach = room[5]
    pull = 4.0
    laid = np.empty((n + 1, 5))
    jtj, jtr = np.empty((m, m)), np.empty(m)
    a, z = np.empty((m, m)), np.empty(m)
    trial, origin = motions.copy(), start.copy()
    trial_laid = np.empty((n + 1, 5))
    damping = 0.1
    lay_out(motions, start, laid)
    total, least, miss = gather(
        geo, poly, ball, pairs, room, motions, laid, box, goal, target, pull, jtj, jtr, True
    )
    used = 0
    fails = 0
    for _ in range(rounds):
        used += 1
        if total < 1e-6:
            break
        for i in range(m):
            for j in range(m):
                a[i, j] = jtj[i, j]
            scale = 1.0
            if i == n + 2 or (i < n and motions[i, 0] == 0.0):
                scale = reach * reach
            a[i, i] += damping * scale + 1e-9 * scale
            if i >= n and box[2 * (i - n)] == box[2 * (i - n) + 1]:
                a[i, i] += 1e12
            z[i] = -jtr[i]
        if not solve_spd(a, z, m):
            damping *= 10.0
            continue
        # Keep a step within what the samples can tell.
        long = 0.0
        for i in range(n):
            long = max(long, abs(z[i]) * (1.0 if motions[i, 0] == 1.0 else reach))
        shrink = min(1.0, 150.0 / max(long, 1e-9))
        for i in range(n):
            v = motions[i, 1] + shrink * z[i]
            if signs[i] != 0.0 and v * signs[i] < 0.0:
                v = 0.0
            trial[i, 1] = v
        for i in range(3):
            v = start[i] + shrink * z[n + i]
            origin[i] = min(max(v, box[2 * i]), box[2 * i + 1])
        lay_out(trial, origin, trial_laid)
        new, _, _ = gather(
            geo,
            poly,
            ball,
            pairs,
            room,
            trial,
            trial_laid,
            box,
            goal,
            target,
            pull,
            jtj,
            jtr,
            False,
        )
        if new < total:
            small = new > total * 0.997
            for i in range(n):
                motions[i, 1] = trial[i, 1]
            for i in range(3):
                start[i] = origin[i]
            lay_out(motions, start, laid)
            total, least, miss = gather(
                geo, poly, ball, pairs, room, motions, laid, box, goal, target, pull, jtj, jtr, True
            )
            damping = max(damping * 0.3, 1e-6)
            fails = fails + 1 if small else 0
        else:
            damping *= 5.0
            fails += 1
            # The derivatives are still those of the pose kept.
            if damping > 1e9:
                break
        if fails > 12:
            break
    return least, miss, used
