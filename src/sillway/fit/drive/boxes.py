"""The compiled heart of the subdivision: boxes of poses, told free, stuck or mixed, and split.

A box of poses is free when every pose in it has a clearance of at least ``grow``, stuck when one
and the same pair of prisms is nearer than ``grow`` at every pose in it, mixed when neither could be
shown. Pairs shown to be far are struck off a box's mask and never looked at again below it.

Boxes are kept in whole numbers: 2**FINEST steps span the domain in x, in y, and once round in
heading, so that neighbours touch exactly. Two boxes are neighbours when they share a face: the set
of poses with positive clearance is open, so a way through it can always be nudged off the edges.
"""

# The compiled functions are typed by their signatures.
# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

import math

from sillway.fit.drive.jit import SCENE, compiled
from sillway.fit.drive.kernel import D5, gap_below, pair_distance, turn_loss

FINEST = 20
ROUND = 1 << FINEST
WORD = 62  # pairs per word of a mask; the sign bit stays out of it

MIXED, FREE, STUCK, SPLIT = 0, 1, 2, 3
# Where the counters stand in ``count``.
BOXES, LINKS, SPARE, SEARCH, STARTS, DEEPEST_ROUTE, WORDS, GAVE_UP = 0, 1, 2, 3, 4, 5, 6, 7
# An axis is halved only if its share of the doubt is this much of the largest one's.
MATTERS = 0.02
# A box is at most about this many times longer, by effect, than what it is halved along.
LOPSIDED = 16.0
# Bits of ``flag``.
AT_START, AT_GOAL, GIVEN_UP = 1, 2, 4

BOX = "float64,float64,float64,float64,float64,float64,float64,float64"


@compiled(
    f"{D5}(float64[:,::1],int64[:,::1],float64[:,::1],float64[::1],int64,int64,{BOX},float64)"
)
def box_pair(geo, poly, ball, room, bi, oi, x, y, c, s, hx, hy, ch, sh, grow):
    """Bounds (low, high) of a pair's signed distance over a box of poses.

    Centre x, y, heading (cos c, sin s); half sizes hx, hy, and cos ch, sin sh of half the heading
    (ch < 0 for anything of pi / 2 or more). Work stops once low >= grow or high < grow is known; a
    bound not looked for is infinite. Without floating guard. With them, for a pair left open: what
    the box's extent in x, in y and in heading each add to the doubt.
    """
    b0, b1 = poly[bi, 0], poly[bi, 1]
    low, high = -math.inf, math.inf
    wide = ch < 0.0
    if oi >= 0:
        half = 3.2 if wide else 2.0 * sh  # no less than the half angle below pi / 2
        swing = math.sqrt(ball[bi, 0] ** 2 + ball[bi, 1] ** 2) * half
        low = gap_below(ball, bi, oi, x, y, c, s, math.sqrt(hx * hx + hy * hy) + swing)
        if low >= grow:
            return low, high, 0.0, 0.0, 0.0
        o0, o1 = poly[oi, 0], poly[oi, 1]
    else:
        o0, o1 = 0, 1
    high = -math.inf
    for j in range(o0, o1):
        if oi >= 0:
            nx, ny, offset = geo[j, 2], geo[j, 3], geo[j, 4]
        else:
            nx, ny, offset = 1.0, 0.0, room[0]
            if oi == -2:
                nx, offset = -1.0, -room[2]
            elif oi == -3:
                nx, ny, offset = 0.0, 1.0, room[1]
            elif oi == -4:
                nx, ny, offset = 0.0, -1.0, -room[3]
        bx, by = c * nx + s * ny, c * ny - s * nx
        least, most = math.inf, math.inf
        for i in range(b0, b1):
            a = bx * geo[i, 0] + by * geo[i, 1]
            if wide:
                least, most = min(least, -geo[i, 5]), min(most, geo[i, 5])
                continue
            b = abs(bx * geo[i, 1] - by * geo[i, 0])
            across = b * ch <= abs(a) * sh
            flat, lean = a * ch, b * sh
            least = min(least, -geo[i, 5] if across and a < 0.0 else flat - lean)
            most = min(most, geo[i, 5] if across and a > 0.0 else flat + lean)
        at = nx * x + ny * y - offset
        shift = abs(nx) * hx + abs(ny) * hy
        low = max(low, at + least - shift)
        if low >= grow:
            return low, math.inf, 0.0, 0.0, 0.0
        high = max(high, at + most + shift)
    overlap = min(grow, 0.0)
    if oi >= 0 and wide:
        high = math.inf  # the body's own edges are not bounded over so wide a turn
    elif oi >= 0 and high < overlap:
        for i in range(b0, b1):
            vx, vy = geo[i, 2], geo[i, 3]
            mx, my = c * vx - s * vy, s * vx + c * vy
            most = math.inf
            for j in range(o0, o1):
                wx, wy = geo[j, 0] - x, geo[j, 1] - y
                a = mx * wx + my * wy
                b = abs(mx * wy - my * wx)
                if a > 0.0 and b * ch <= a * sh:
                    most = min(most, math.sqrt(a * a + b * b))
                else:
                    most = min(most, a * ch + b * sh)
            shift = (abs(mx) + abs(my) * sh) * hx + (abs(my) + abs(mx) * sh) * hy
            high = max(high, most - geo[i, 4] + shift)
            if high >= overlap:
                break
    if high < overlap:
        return low, high, 0.0, 0.0, 0.0
    high = math.inf
    d, ux, uy, px, py = pair_distance(geo, poly, room, bi, oi, x, y, c, s, math.inf)
    loss = turn_loss(geo, b0, b1, 0.0, 0.0, c, s, ux, uy, ch, sh)
    dx, dy = abs(ux) * hx, abs(uy) * hy
    if d >= grow:
        low = max(low, d - dx - dy - loss)
    elif grow > 0.0 and not wide:
        if d > 0.0:
            # The nearest points stay near each other: the body's moves by at most so much along u
            # and so much across it.
            along, across = abs(ux * px + uy * py), abs(ux * py - uy * px)
            up = dx + dy + along * (1.0 - ch) + across * sh
            aside = abs(uy) * hx + abs(ux) * hy + across * (1.0 - ch) + along * sh
            high = math.sqrt((d + up) * (d + up) + aside * aside)
        else:
            chord = math.sqrt(max(2.0 - 2.0 * ch, 0.0))
            high = math.sqrt(hx * hx + hy * hy) + room[5] * chord
    return low, high, dx, dy, loss


# The packed scene and the subdivision, each as one tuple of arrays.
CABIN = f"Tuple(({SCENE}))"
TREE = (
    "Tuple((int64[:,::1],int64[:,::1],int8[::1],int64[:,::1],float64[::1],int64[::1],int8[::1],"
    "int64[::1],int64[:,::1],int64[:,::1],int64[::1],int64[::1],float64[:,::1],float64[:,::1],"
    "float64[::1],int8[::1],float64[::1]))"
)


@compiled(f"void({CABIN},{TREE},int64,float64)")
def classify(cabin, tree, box, grow):
    """Set a box's state, strike far pairs off its mask, note the witness of a stuck one."""
    geo, poly, ball, pairs, room = cabin
    lo, lev, state, mask, low, wit, _, _, _, _, _, count, frame, trig, _, axis, gain = tree
    hx = 0.5 * frame[0, 1] * (ROUND >> lev[box, 0])
    hy = 0.5 * frame[1, 1] * (ROUND >> lev[box, 1])
    x = frame[0, 0] + frame[0, 1] * lo[box, 0] + hx
    y = frame[1, 0] + frame[1, 1] * lo[box, 1] + hy
    t = frame[2, 1] * (lo[box, 2] + 0.5 * (ROUND >> lev[box, 2]))
    c, s = math.cos(t), math.sin(t)
    ch, sh = trig[lev[box, 2], 0], trig[lev[box, 2], 1]
    guard = room[4]
    left = False
    doubt_x, doubt_y, doubt_t = 0.0, 0.0, 0.0
    for word in range(count[WORDS]):
        bits = mask[box, word]
        while bits != 0:
            lowest = bits & -bits
            bits ^= lowest
            k = WORD * word + int(math.log2(float(lowest)))
            near, far, dx, dy, dt = box_pair(
                geo,
                poly,
                ball,
                room,
                pairs[k, 0],
                pairs[k, 1],
                x,
                y,
                c,
                s,
                hx,
                hy,
                ch,
                sh,
                grow + guard,
            )
            if near - guard >= grow:
                mask[box, word] ^= lowest
                low[box] = min(low[box], near - guard)
                continue
            if far + guard < grow:
                state[box] = STUCK
                wit[box] = k
                return
            left = True
            doubt_x, doubt_y, doubt_t = doubt_x + dx, doubt_y + dy, doubt_t + dt
    state[box] = MIXED if left else FREE
    # Halve where the box is longest by its effect on the body, of the axes that matter at its
    # centre; those are a guess, so no axis is left too far behind.
    matters = MATTERS * max(doubt_x, doubt_y, doubt_t)
    best, longest = -1.0, -1.0
    for d in range(3):
        effect = frame[d, 2] * (ROUND >> lev[box, d])
        doubt = doubt_x if d == 0 else (doubt_y if d == 1 else doubt_t)
        if doubt >= matters and effect > best:
            best, axis[box] = effect, d
        longest = max(longest, effect)
    gain[box] = best
    if best * LOPSIDED < longest:
        gain[box] = longest
        for d in range(3):
            if frame[d, 2] * (ROUND >> lev[box, d]) == longest:
                axis[box] = d


@compiled("boolean(int64[:,::1],int64[:,::1],int64,int64)")
def share_face(lo, lev, a, b):
    """Two boxes with disjoint insides share a face (heading is periodic)."""
    touching = 0
    for d in range(3):
        a0, b0 = lo[a, d], lo[b, d]
        a1, b1 = a0 + (ROUND >> lev[a, d]), b0 + (ROUND >> lev[b, d])
        if a0 < b1 and b0 < a1:
            continue
        if (
            a1 == b0
            or b1 == a0
            or (d == 2 and ((a1 == ROUND and b0 == 0) or (b1 == ROUND and a0 == 0)))
        ):
            touching += 1
            if touching > 1:
                return False
        else:
            return False
    return True


@compiled("void(int64[::1],int64[:,::1],int64[::1],int64,int64)")
def join(head, link, count, a, b):
    """Put b on a's list of neighbours."""
    k = count[SPARE]
    if k >= 0:
        count[SPARE] = link[k, 1]
    else:
        k = count[LINKS]
        count[LINKS] += 1
    link[k, 0] = b
    link[k, 1] = head[a]
    head[a] = k


@compiled("int8(int64[:,::1],int64[:,::1],float64[:,::1],float64[::1],int64,int8)")
def regions(lo, lev, frame, region, box, was):
    """Which of start (1) and goal (2) a box touches, of those in ``was``."""
    out = 0
    for r in range(2):
        if not was & (1 << r):
            continue
        hit = True
        for d in range(3):
            a = frame[d, 0] + frame[d, 1] * lo[box, d]
            b = frame[d, 0] + frame[d, 1] * (lo[box, d] + (ROUND >> lev[box, d]))
            # A hair wider, so that a rounded edge loses nothing.
            wide = 1e-9 * frame[d, 1] * ROUND
            p, q = region[6 * r + 2 * d] - wide, region[6 * r + 2 * d + 1] + wide
            if d == 2:
                p0 = p - 2.0 * math.pi * math.floor(p / (2.0 * math.pi))
                q0 = p0 + (q - p)
                if not (
                    (p0 <= b and a <= q0) or (p0 - 2.0 * math.pi <= b and a <= q0 - 2.0 * math.pi)
                ):
                    hit = False
            elif not (p <= b and a <= q):
                hit = False
        if hit:
            out |= 1 << r
    return out


@compiled(f"int64({CABIN},{TREE},int64,float64)")
def split(cabin, tree, box, grow):
    """Halve a box where its extent leaves the most doubt; link up the halves."""
    lo, lev, state, mask, low, wit, flag, head, link, seen, _, count, frame, _, region, axis, _ = (
        tree
    )
    along = axis[box]
    size = ROUND >> lev[box, along]
    first = count[BOXES]
    count[BOXES] += 2
    for half in range(2):
        child = first + half
        for d in range(3):
            lo[child, d] = lo[box, d]
            lev[child, d] = lev[box, d]
        lev[child, along] += 1
        lo[child, along] += half * (size >> 1)
        for word in range(count[WORDS]):
            mask[child, word] = mask[box, word]
        low[child] = low[box]
        wit[child] = -1
        head[child] = -1
        seen[child, 0], seen[child, 2], seen[child, 3] = -1, -1, seen[box, 3]
        flag[child] = regions(lo, lev, frame, region, child, flag[box]) if flag[box] else 0
        classify(cabin, tree, child, grow)
    state[box] = SPLIT
    if state[first] != STUCK and state[first + 1] != STUCK:
        join(head, link, count, first, first + 1)
        join(head, link, count, first + 1, first)
    at = head[box]
    while at >= 0:
        other, following = link[at, 0], link[at, 1]
        if state[other] < STUCK:
            for child in range(first, first + 2):
                if state[child] != STUCK and share_face(lo, lev, child, other):
                    join(head, link, count, child, other)
                    join(head, link, count, other, child)
        link[at, 1] = count[SPARE]
        count[SPARE] = at
        at = following
    head[box] = -1
    return first


@compiled(f"void({CABIN},{TREE},int64[::1],float64,float64[::1])")
def box_clearance(cabin, tree, which, enough, out):
    """Guaranteed clearance over whole boxes (all pairs, at most ``enough``)."""
    geo, poly, ball, pairs, room = cabin
    lo, lev, _, _, low, _, _, _, _, _, _, _, frame, trig, _, _, _ = tree
    for n in range(which.shape[0]):
        box = which[n]
        hx = 0.5 * frame[0, 1] * (ROUND >> lev[box, 0])
        hy = 0.5 * frame[1, 1] * (ROUND >> lev[box, 1])
        x = frame[0, 0] + frame[0, 1] * lo[box, 0] + hx
        y = frame[1, 0] + frame[1, 1] * lo[box, 1] + hy
        t = frame[2, 1] * (lo[box, 2] + 0.5 * (ROUND >> lev[box, 2]))
        c, s = math.cos(t), math.sin(t)
        ch, sh = trig[lev[box, 2], 0], trig[lev[box, 2], 1]
        best = enough
        for k in range(pairs.shape[0]):
            near, _, _, _, _ = box_pair(
                geo,
                poly,
                ball,
                room,
                pairs[k, 0],
                pairs[k, 1],
                x,
                y,
                c,
                s,
                hx,
                hy,
                ch,
                sh,
                best + room[4],
            )
            best = min(best, near - room[4])
        out[n] = max(best, low[box]) if low[box] < enough else best
