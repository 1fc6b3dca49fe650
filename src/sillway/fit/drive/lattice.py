"""A coarse first guess: best-first search over poses, with the walls held softly.

Poses are real numbers, told apart by cells of x, y, heading and gear. A pose may overlap the walls
by a few centimetres, at a price; where a way exists at all, its shape then shows on a lattice much
coarser than its slack, and polish.py moves it clear. Nothing here is a proof of anything.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sillway.fit.drive.jit import SCENE, compiled
from sillway.fit.drive.kernel import clearance

# Rows of the weights handed to search_lattice; lengths in mm, angles in rad.
CELL, TURN, OVERLAP, SOFT, SCARE, REVERSAL, SWITCH, TURN_PRICE, GREED, RADIUS, MOST, CORE, STRAY = (
    range(13)
)
FORWARD, BACKWARD, LEFT, RIGHT = range(4)
TWO_PI = 2.0 * math.pi


@njit("float64(float64,float64,float64)", cache=True)
def outside(v, low, high):  # type: ignore[no-untyped-def]
    """How far v lies outside [low, high], signed."""
    if v < low:
        return v - low
    return max(0.0, v - high)


@njit("float64(float64,float64,float64)", cache=True)
def turn_outside(theta, low, high):  # type: ignore[no-untyped-def]
    """The same for a heading, whole turns left out."""
    half = 0.5 * (high - low)
    off = (theta - 0.5 * (low + high) + math.pi) % TWO_PI - math.pi
    return outside(off, -half, half)


@njit("void(float64[::1],int64[::1],int64,float64,int64)", cache=True)
def heap_push(keys, items, size, key, item):  # type: ignore[no-untyped-def]
    """Put one item on a heap that holds ``size``."""
    i = size
    while i > 0:
        up = (i - 1) >> 1
        if keys[up] <= key:
            break
        keys[i], items[i] = keys[up], items[up]
        i = up
    keys[i], items[i] = key, item


@njit("int64(float64[::1],int64[::1],int64)", cache=True)
def heap_pop(keys, items, size):  # type: ignore[no-untyped-def]
    """Take the least item off a heap that holds ``size``."""
    top = items[0]
    key, item = keys[size - 1], items[size - 1]
    n = size - 1
    i = 0
    while True:
        child = 2 * i + 1
        if child >= n:
            break
        if child + 1 < n and keys[child + 1] < keys[child]:
            child += 1
        if keys[child] >= key:
            break
        keys[i], items[i] = keys[child], items[child]
        i = child
    keys[i], items[i] = key, item
    return top


@njit(
    "void(float64[:,::1],int64[:,::1],int64[:,::1],float64[:,::1],float64[::1],float64,"
    "float64[::1])",
    cache=True,
)
def ways_to_goal(geo, poly, pairs, at, goal, core, far):  # type: ignore[no-untyped-def]
    """Fill ``far`` with lengths from grid points to the goal for a disc of radius ``core``.

    ``at``: x and y of the grid points in rows 0 and 1, their counts and spacing in row 2. Lengths
    along eight directions, shortened to what a straight line could do. A disc that fits in every
    layer of the body at any heading goes at least where the body goes.
    """
    nx, ny, cell = int(at[2, 0]), int(at[2, 1]), at[2, 2]
    blocked = np.zeros(nx * ny, dtype=np.bool_)
    for q in range(pairs.shape[0]):
        if pairs[q, 1] < 0:
            continue
        o0, o1 = poly[pairs[q, 1], 0], poly[pairs[q, 1], 1]
        for i in range(nx):
            for j in range(ny):
                inside, square = True, np.inf
                for e in range(o0, o1):
                    dx, dy = at[0, i] - geo[e, 0], at[1, j] - geo[e, 1]
                    if geo[e, 2] * dx + geo[e, 3] * dy > 0.0:
                        inside = False
                    t = min(max(dy * geo[e, 2] - dx * geo[e, 3], 0.0), geo[e, 6])
                    fx, fy = dx + t * geo[e, 3], dy - t * geo[e, 2]
                    square = min(square, fx * fx + fy * fy)
                if core > 0.0 and (inside or square < core * core):
                    blocked[i * ny + j] = True
    keys, items = np.empty(9 * nx * ny + 1), np.empty(9 * nx * ny + 1, dtype=np.int64)
    size = 0
    far[:] = np.inf
    for i in range(nx):
        for j in range(ny):
            gx = outside(at[0, i], goal[0], goal[1])
            gy = outside(at[1, j], goal[2], goal[3])
            d = math.sqrt(gx * gx + gy * gy)
            if d <= 1.5 * cell:
                far[i * ny + j] = d
                heap_push(keys, items, size, d, i * ny + j)
                size += 1
    while size > 0:
        key = keys[0]
        k = heap_pop(keys, items, size)
        size -= 1
        if key > far[k]:
            continue
        i, j = k // ny, k % ny
        for di in range(-1, 2):
            for dj in range(-1, 2):
                a, b = i + di, j + dj
                if a < 0 or b < 0 or a >= nx or b >= ny or blocked[a * ny + b]:
                    continue
                # 0.924 = cos 22.5 deg: what eight directions lose at most on a straight line.
                d = key + 0.924 * cell * math.sqrt(di * di + dj * dj)
                if d < far[a * ny + b]:
                    far[a * ny + b] = d
                    heap_push(keys, items, size, d, a * ny + b)
                    size += 1


@compiled(
    f"Tuple((float64[:,::1],int64))({SCENE},float64[:,::1],float64[::1],float64[:,::1],"
    "float64[::1])"
)
def search_lattice(geo, poly, ball, pairs, room, roots, goal, guide, w):  # type: ignore[no-untyped-def]
    """Return the moves of the cheapest way found, and the number of poses opened.

    A row is (move, amount): a drive of signed mm or a turn of signed rad; first row: the root pose
    is roots[amount]. No rows: nothing found. A move is FORWARD or BACKWARD (straight), LEFT or
    RIGHT (a turn on the spot); where w[RADIUS] > 0 the turns are arcs of that radius, and the move
    code adds 4 for arcs driven backwards.

    Args:
        roots: poses to begin at. goal: x0, x1, y0, y1, theta0, theta1.
        guide: rows x, y, theta and the price from there to the goal, along a way that slides.
        w: the weights above.
    """
    cell, dturn = w[CELL], w[TURN]
    car = w[RADIUS] > 0.0
    n_moves = 6 if car else 4
    most = int(w[MOST])
    nx = int((room[2] - room[0]) / cell) + 3
    ny = int((room[3] - room[1]) / cell) + 3
    nt = max(8, round(TWO_PI / dturn))
    x_off = roots[0, 0] - cell * (math.floor((roots[0, 0] - room[0]) / cell) + 1.5)
    y_off = roots[0, 1] - cell * (math.floor((roots[0, 1] - room[1]) / cell) + 1.5)
    t_off = roots[0, 2]
    best = np.full(nx * ny * nt * 3, np.inf, dtype=np.float32)
    px, py, pt = np.empty(most), np.empty(most), np.empty(most)
    cost = np.empty(most)
    parent = np.empty(most, dtype=np.int64)
    move = np.empty(most, dtype=np.int8)
    amount = np.empty(most)
    gear = np.empty(most, dtype=np.int8)
    keys, items = np.empty(most + 1), np.empty(most + 1, dtype=np.int64)
    count, size = 0, 0
    for r in range(roots.shape[0]):
        px[count], py[count], pt[count] = roots[r, 0], roots[r, 1], roots[r, 2]
        cost[count], parent[count], move[count], gear[count] = 0.0, -1 - r, -1, 0
        heap_push(keys, items, size, 0.0, count)
        count += 1
        size += 1
    grid = np.zeros((3, max(nx, ny)))
    for i in range(nx):
        grid[0, i] = x_off + (i + 0.5) * cell
    for j in range(ny):
        grid[1, j] = y_off + (j + 0.5) * cell
    grid[2, 0], grid[2, 1], grid[2, 2] = nx, ny, cell
    far = np.empty(nx * ny)
    ways_to_goal(geo, poly, pairs, grid, goal, w[CORE] - w[OVERLAP] - cell, far)
    drive_step = cell * 1.1
    soft = w[SOFT]
    reach = room[5]
    end = -1
    while size > 0:
        at = heap_pop(keys, items, size)
        size -= 1
        x, y, t, g = px[at], py[at], pt[at], gear[at]
        ix, iy = int((x - x_off) / cell), int((y - y_off) / cell)
        it = math.floor((t - t_off) / TWO_PI * nt + 0.5) % nt
        here = ((ix * ny + iy) * nt + it) * 3 + g
        if cost[at] > best[here] + 1e-3:
            continue
        ex, ey = outside(x, goal[0], goal[1]), outside(y, goal[2], goal[3])
        et = turn_outside(t, goal[4], goal[5])
        if abs(ex) <= 0.75 * cell and abs(ey) <= 0.75 * cell and abs(et) <= 0.75 * dturn:
            end = at
            break
        for m in range(n_moves):
            going = g
            turn, dist = 0.0, 0.0
            code = m
            if car:
                back = m == 1 or m >= 4
                going = 2 if back else 1
                if m == 0 or m == 1:
                    dist = -drive_step if back else drive_step
                else:
                    arc = max(drive_step, dturn * w[RADIUS] * 1.01)
                    dist = -arc if back else arc
                    left = m == 2 or m == 4
                    turn = dist / w[RADIUS] * (1.0 if left else -1.0)
                    code = (2 if left else 3) + (4 if back else 0)
            elif m < 2:
                going = 1 + m
                dist = drive_step if m == 0 else -drive_step
            else:
                turn = dturn if m == 2 else -dturn
            if car and m >= 2:
                rad = w[RADIUS] if (m == 2 or m == 4) else -w[RADIUS]
                cx, cy = x - rad * math.sin(t), y + rad * math.cos(t)
                ct, st = math.cos(turn), math.sin(turn)
                x1 = cx + (x - cx) * ct - (y - cy) * st
                y1 = cy + (x - cx) * st + (y - cy) * ct
            else:
                x1, y1 = x + dist * math.cos(t), y + dist * math.sin(t)
            t1 = t + turn
            jx, jy = int((x1 - x_off) / cell), int((y1 - y_off) / cell)
            if jx < 0 or jy < 0 or jx >= nx or jy >= ny:
                continue
            jt = math.floor((t1 - t_off) / TWO_PI * nt + 0.5) % nt
            there = ((jx * ny + jy) * nt + jt) * 3 + going
            if far[jx * ny + jy] == np.inf:
                continue
            price = abs(dist) if (m < 2 or car) else w[TURN_PRICE] * abs(turn)
            new = cost[at] + price
            if g != 0 and going != g:
                new += w[REVERSAL]
            if move[at] >= 0 and move[at] != code:
                new += w[SWITCH]
            if new >= best[there]:
                continue
            d, _ = clearance(geo, poly, ball, pairs, room, x1, y1, t1, soft)
            if d < -w[OVERLAP]:
                continue
            if d < soft:
                lack = (soft - d) / soft
                moved = abs(dist) if m < 2 else abs(turn) * reach
                new += w[SCARE] * lack * lack * moved
                if new >= best[there]:
                    continue
            if count >= most:
                size = 0
                break
            best[there] = new
            px[count], py[count], pt[count] = x1, y1, t1
            cost[count], parent[count], move[count], gear[count] = new, at, code, going
            amount[count] = turn if (m >= 2) else dist
            ahead = far[jx * ny + jy]
            for i in range(guide.shape[0]):
                a, b = x1 - guide[i, 0], y1 - guide[i, 1]
                c = abs((t1 - guide[i, 2] + math.pi) % TWO_PI - math.pi)
                d = w[STRAY] * (math.sqrt(a * a + b * b) + w[TURN_PRICE] * c) + guide[i, 3]
                if i == 0 or d < ahead:
                    ahead = d
            ft = turn_outside(t1, goal[4], goal[5])
            if guide.shape[0] == 0:
                ahead += w[TURN_PRICE] * abs(ft)
            heap_push(keys, items, size, new + w[GREED] * ahead, count)
            count += 1
            size += 1
    steps = 0
    at = end
    while at >= 0 and parent[at] >= 0:
        steps += 1
        at = parent[at]
    if end < 0:
        return np.empty((0, 2)), count
    out = np.empty((steps + 1, 2))
    at = end
    for k in range(steps, 0, -1):
        out[k, 0], out[k, 1] = move[at], amount[at]
        at = parent[at]
    out[0, 0], out[0, 1] = -1.0, -1.0 - parent[at]
    return out, count
