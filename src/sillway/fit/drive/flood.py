"""The compiled search over boxes of poses: which of them to halve, and when there is an answer.

Only mixed boxes on routes from start to goal that cross the fewest of them are halved: splitting
all mixed boxes would drown in boxes that decide nothing.
"""

# The compiled functions are typed by their signatures.
# mypy: disable-error-code="no-untyped-def,no-untyped-call"

from __future__ import annotations

from sillway.fit.drive.boxes import (
    AT_GOAL,
    AT_START,
    BOXES,
    CABIN,
    DEEPEST_ROUTE,
    FREE,
    GAVE_UP,
    GIVEN_UP,
    LINKS,
    MIXED,
    SEARCH,
    SPARE,
    STARTS,
    STUCK,
    TREE,
    split,
)
from sillway.fit.drive.jit import compiled

# What a run of rounds comes to.
GOING, OPEN, SHUT, TOO_FINE, FULL, NO_LINKS = 0, 1, 2, 3, 4, 5
# Searches of the best routes alone, after each search of all boxes.
NARROW = 16


@compiled(f"int64({CABIN},{TREE},float64,float64,int64)")
def advance(cabin, tree, grow, finest, rounds):
    """Search, split the mixed boxes on the routes that cross the fewest, and again.

    A search of all boxes is followed by up to NARROW searches of only what lay on its best routes,
    as long as that stays promising; only a search of all boxes says that there is no way.

    ``seen`` holds per box: search number, mixed boxes crossed, number of the walk back, and of the
    full search on whose routes it lies. ``queue`` has room for four lists of boxes.
    """
    lo, _, state, _, _, _, flag, head, link, seen, queue, count, _, _, _, _, gain = tree
    room_for = lo.shape[0]
    third = queue.shape[0] // 4
    starts, now, later, marked = (
        queue[:third],
        queue[third : 2 * third],
        queue[2 * third : 3 * third],
        queue[3 * third :],
    )
    narrow, corridor, limit = 0, -1, 0
    for _ in range(rounds):
        count[SEARCH] += 1
        search = count[SEARCH]
        # Sources: the start's leaves (kept as a list; split ones are replaced by their halves).
        i = 0
        n_now, n_later, passed_by = 0, 0, False
        while i < count[STARTS]:
            v = starts[i]
            if state[v] >= STUCK:
                count[STARTS] -= 1
                starts[i] = starts[count[STARTS]]
                continue
            i += 1
            if flag[v] & GIVEN_UP:
                passed_by = True
                continue
            if narrow > 0 and seen[v, 3] != corridor:
                continue
            cost = 1 if state[v] == MIXED else 0
            seen[v, 0], seen[v, 1] = search, cost
            if cost:
                later[n_later] = v
                n_later += 1
            else:
                now[n_now] = v
                n_now += 1
        depth = 0
        reached = False
        while True:
            i = 0
            while i < n_now:
                v = now[i]
                i += 1
                if seen[v, 1] != depth:
                    continue
                if flag[v] & AT_GOAL:
                    reached = True
                before, at = -1, head[v]
                while at >= 0:
                    other, following = link[at, 0], link[at, 1]
                    if state[other] >= STUCK:
                        if before < 0:
                            head[v] = following
                        else:
                            link[before, 1] = following
                        link[at, 1] = count[SPARE]
                        count[SPARE] = at
                        at = following
                        continue
                    before, at = at, following
                    if flag[other] & GIVEN_UP:
                        passed_by = True
                        continue
                    if narrow > 0 and seen[other, 3] != corridor:
                        continue
                    cost = depth + (1 if state[other] == MIXED else 0)
                    if seen[other, 0] == search and seen[other, 1] <= cost:
                        continue
                    seen[other, 0], seen[other, 1] = search, cost
                    if cost == depth:
                        now[n_now] = other
                        n_now += 1
                    else:
                        later[n_later] = other
                        n_later += 1
            if reached or n_later == 0 or (narrow > 0 and depth >= limit):
                break
            depth += 1
            now, later = later, now
            n_now, n_later = n_later, 0
        count[DEEPEST_ROUTE] = depth
        if narrow > 0:
            narrow -= 1
            if not reached:
                narrow = 0
                continue
        elif reached:
            narrow, corridor, limit = NARROW, search, depth + depth // 2 + 2
        if not reached:
            return TOO_FINE if passed_by else SHUT
        if depth == 0:
            return OPEN
        # Walk back along the routes that cross the fewest; ``later`` collects, ``now`` is done.
        n_later, n_marked = 0, 0
        full = corridor == search
        for i in range(n_now):
            v = now[i]
            if seen[v, 1] == depth and flag[v] & AT_GOAL and seen[v, 2] != search:
                seen[v, 2] = search
                later[n_later] = v
                n_later += 1
        while n_later > 0:
            n_later -= 1
            v = later[n_later]
            if full:
                seen[v, 3] = search
            mixed = 0
            if state[v] == MIXED:
                mixed = 1
                marked[n_marked] = v
                n_marked += 1
            at = head[v]
            while at >= 0:
                other = link[at, 0]
                at = link[at, 1]
                if (
                    state[other] < STUCK
                    and seen[other, 0] == search
                    and seen[other, 2] != search
                    and seen[other, 1] + mixed == seen[v, 1]
                ):
                    seen[other, 2] = search
                    later[n_later] = other
                    n_later += 1
        for i in range(n_marked):
            v = marked[i]
            if gain[v] < finest:
                flag[v] |= GIVEN_UP
                count[GAVE_UP] += 1
                continue
            if count[BOXES] + 2 > room_for:
                return FULL
            if count[LINKS] + 4096 > link.shape[0]:
                return NO_LINKS
            first = split(cabin, tree, v, grow)
            for child in range(first, first + 2):
                if flag[child] & AT_START and state[child] != STUCK:
                    starts[count[STARTS]] = child
                    count[STARTS] += 1
    return GOING


@compiled(f"int64({TREE},int64[::1],int64[::1])")
def trace(tree, parent, path):
    """Free boxes from start to goal, each sharing a face with the next; their number."""
    _, _, state, _, _, _, flag, head, link, _, queue, count, _, _, _, _, _ = tree
    n = 0
    for v in range(count[BOXES]):
        parent[v] = -2
        if state[v] == FREE and flag[v] & AT_START:
            parent[v] = -1
            queue[n] = v
            n += 1
    i = 0
    while i < n:
        v = queue[i]
        i += 1
        if flag[v] & AT_GOAL:
            length, at = 0, v
            while at >= 0:
                length, at = length + 1, parent[at]
            at = v
            for k in range(length):
                path[length - 1 - k] = at
                at = parent[at]
            return length
        at = head[v]
        while at >= 0:
            other = link[at, 0]
            at = link[at, 1]
            if state[other] == FREE and parent[other] == -2:
                parent[other] = v
                queue[n] = other
                n += 1
    return 0


@compiled(f"int64({TREE},int64[::1],int64[::1],int64[::1])")
def neighbours(tree, leaf_of, first, other_leaf):
    """Neighbour lists of the free and mixed leaves, one after the other; their total length."""
    _, _, state, _, _, _, _, head, link, _, _, count, _, _, _, _, _ = tree
    total = 0
    for v in range(count[BOXES]):
        leaf = leaf_of[v]
        if leaf < 0:
            continue
        first[leaf] = total
        if state[v] < STUCK:
            at = head[v]
            while at >= 0:
                if state[link[at, 0]] < STUCK:
                    if total < other_leaf.shape[0]:
                        other_leaf[total] = leaf_of[link[at, 0]]
                    total += 1
                at = link[at, 1]
        first[leaf + 1] = total
    return total
