"""Along a certified way: poses in between, key poses, and the moves in words."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from sillway.fit.drive.scene import Point, Pose
from sillway.fit.result import Certificate, FitAnswer, Frame
from sillway.units import show_length

# A turn or run shorter than this is no move of its own in words.
_LEAST_TURN_RAD: Final = 1e-6
_LEAST_RUN_MM: Final = 1e-3
_MOST_KEYS: Final = 8


def between(a: Pose, b: Pose, centre: Point | None, part: float) -> Pose:
    """The pose at a part (0 to 1) of a straight run, a turn on the spot or an arc.

    >>> x, y, heading = between((0, 0, 0), (1000, 1000, math.pi / 2), (0, 1000), 0.5)
    >>> round(x, 3), round(y, 3), round(math.degrees(heading))
    (707.107, 292.893, 45)
    """
    heading = a[2] + part * (b[2] - a[2])
    if centre is None:
        return (a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]), heading)
    turn = heading - a[2]
    c, s = math.cos(turn), math.sin(turn)
    dx, dy = a[0] - centre[0], a[1] - centre[1]
    return (centre[0] + dx * c - dy * s, centre[1] + dx * s + dy * c, heading)


def segment_length_mm(a: Pose, b: Pose, centre: Point | None) -> float:
    """How far the body origin travels in a segment."""
    if centre is None:
        return math.dist(a[:2], b[:2])
    return abs(b[2] - a[2]) * math.dist(a[:2], centre)


def along(
    path: Sequence[Pose], arcs: Mapping[int, Point], step_mm: float, step_rad: float
) -> list[Pose]:
    """Poses along the whole way, no further apart than the steps; every corner is one of them.

    >>> len(along([(0, 0, 0), (100, 0, 0)], {}, 25, 0.1))
    5
    """
    poses = [path[0]]
    for i, (a, b) in enumerate(itertools.pairwise(path)):
        centre = arcs.get(i)
        pieces = max(
            1,
            math.ceil(segment_length_mm(a, b, centre) / step_mm),
            math.ceil(abs(b[2] - a[2]) / step_rad),
        )
        poses += [between(a, b, centre, k / pieces) for k in range(1, pieces + 1)]
    return poses


def frames(answer: FitAnswer, step_mm: float = 40.0, step_rad: float = 0.06) -> tuple[Frame, ...]:
    """The frames the answer carries; else poses along its way with the clearance of the whole."""
    if answer.playback:
        return answer.playback
    proof = answer.certificate
    if proof is None or len(proof.path) < 2:
        return ()
    return tuple(
        Frame(pose, proof.claimed_clearance_mm)
        for pose in along(proof.path, proof.arcs, step_mm, step_rad)
    )


@dataclass(frozen=True, slots=True)
class Key:
    """A pose worth a picture, and the move that led to it."""

    number: int
    pose: Pose
    says: str


def keys(certificate: Certificate) -> tuple[Key, ...]:
    """Start, end of every move, and place; the busiest ways are thinned evenly."""
    path = certificate.path
    out = [Key(1, path[0], "On the ramp, before the door.")]
    for i, (a, b) in enumerate(itertools.pairwise(path)):
        says = move(a, b, certificate.arcs.get(i))
        if says:
            out.append(Key(len(out) + 1, b, says))
    if len(out) <= _MOST_KEYS:
        return tuple(out)
    kept = [out[round(i * (len(out) - 1) / (_MOST_KEYS - 1))] for i in range(_MOST_KEYS)]
    return tuple(kept)


def move(a: Pose, b: Pose, centre: Point | None) -> str:
    """One move in words; empty if nothing moves.

    >>> move((0, 0, 0), (1270, 0, 0), None)
    'Straight forwards 50 in (1270 mm).'
    """
    turn = b[2] - a[2]
    side = "left" if turn > 0 else "right"
    degrees = f"{abs(math.degrees(turn)):.0f} degrees"
    if centre is None and abs(turn) > _LEAST_TURN_RAD:
        return f"Turn {side} on the spot by {degrees}."
    length = segment_length_mm(a, b, centre)
    if length < _LEAST_RUN_MM:
        return ""
    if centre is None:
        ahead = (b[0] - a[0]) * math.cos(a[2]) + (b[1] - a[1]) * math.sin(a[2])
        way = "forwards" if ahead >= 0 else "backwards"
        return f"Straight {way} {show_length(length)}."
    # The centre lies left of a chair that turns left while driving forwards.
    left = (centre[1] - a[1]) * math.cos(a[2]) - (centre[0] - a[0]) * math.sin(a[2]) > 0
    way = "forwards" if left == (turn > 0) else "backwards"
    return f"In a bend {way} {show_length(length)}, turning {side} by {degrees}."
