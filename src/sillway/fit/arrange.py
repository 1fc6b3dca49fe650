"""One chair in one place: whether it stands there, and whether it gets there, seats as they are.

A `Stand` is a chair, a place and a posture kept for the ride. `Ways` answers for it, and remembers:
the same chair is asked about again for other seats, other places of its company, another order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from shapely import Polygon

from sillway.fit.body import Side, Sitting, body, wheel_prism
from sillway.fit.cabin import (
    BELOW_FLOOR,
    bad_scene,
    drive_of,
    floor_tolerance,
    good_scene,
    way_in,
)
from sillway.fit.check import Check, CheckClass, Finding, Margin, finding_of, yes_no
from sillway.fit.cite import cite
from sillway.fit.climb_checks import Climbed
from sillway.fit.drive.scene import Pose, Prism, Scene
from sillway.fit.place import Admissible, admissible, chair_checks
from sillway.fit.place.clear import clear_checks
from sillway.fit.place.rated import overloaded
from sillway.fit.place.room import to_van
from sillway.fit.question import Question, Seated
from sillway.fit.verdict import DECIDING
from sillway.fit.way import Asked, Effort, Way, drive_in, no_way, open_way, shut
from sillway.records.van import Place
from sillway.units import show_length

# Physical and rating checks whose answer at one spot is no answer for the whole place.
_AT_THE_SPOT = ("place.footprint", "place.headroom", "place.strap.front", "place.strap.rear")
_ZONES = "place.zone."
ELSEWHERE = "Judged at the preferred spot; another spot in the place may do."
Plan = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Stand:
    """A chair in a place, in a posture that is kept for the ride.

    Attributes:
        parked: the body at its largest, at the preferred pose, in the van frame: what stands in
            the way of whoever comes later.
        held: the checks of the chair in this place with every seat in use.
    """

    seated: Seated
    place: Place
    ride: Sitting
    spot: Admissible
    parked: tuple[Prism, ...]
    held: tuple[Check, ...]

    @property
    def key(self) -> tuple[str, str, str]:
        """Who, where and how."""
        return self.seated.name, self.place.id, self.ride.name

    @property
    def pose(self) -> Pose:
        """Where the chair stands."""
        return self.spot.preferred

    @property
    def fails(self) -> tuple[Check, ...]:
        """What makes this stand a no, whatever the seats and the way."""
        return failing(self.held)


def failing(checks: Sequence[Check]) -> tuple[Check, ...]:
    """The checks that make it a no."""
    return tuple(c for c in checks if c.check_class in DECIDING and c.finding is Finding.FAILS)


def stands_of(q: Question, seated: Seated, place: Place) -> list[Stand]:
    """The chair in the place, once for each posture for the ride, as measured first."""
    out = []
    chair = seated.rider.chair
    for ride in (s for s in seated.sittings if s.rides):
        spot = admissible(q.van, place, chair, q.basis, ride.layers, seated.common)
        parked = tuple(
            Prism(
                tuple(to_van(spot.preferred, p) for p in prism.polygon), prism.z,
                f"chair of {seated.name}, {prism.name}",
            )
            for prism in body(q.basis, chair, ride.layers, Side.BAD)
        )  # fmt: skip
        stand = Stand(seated, place, ride, spot, parked, ())
        held = (_no_room(q),) if spot.good is None else _held(q, stand)
        out.append(replace(stand, held=held))
    return out


def _no_room(q: Question) -> Check:
    return yes_no(
        "place.footprint", "Does the chair stand inside its place?", CheckClass.PHYSICAL, False,
        needed="the chair's outline inside the place and on the floor",
        measured="too large for it at every spot", source=cite(q.basis, "physics.solid"),
    )  # fmt: skip


def _held(q: Question, stand: Stand) -> tuple[Check, ...]:
    """The checks of the chair in its place; what fails only at its spot is no proof."""
    rider = stand.seated.rider
    checks = chair_checks(
        q.van, stand.place, rider.chair, rider.body, stand.pose, q.basis,
        layers=stand.ride.layers, seat_states={}, equipment=rider.equipment,
    )  # fmt: skip
    return tuple(_spot_only(q, stand, c) for c in checks)


def held_checks(
    q: Question, stand: Stand, plan: Plan, others: Sequence[Prism] = ()
) -> tuple[Check, ...]:
    """The same with these seats and other chairs in the van: only clear zones hang on them."""
    if not any(c.id.startswith(_ZONES) for c in stand.held):
        return stand.held
    rider = stand.seated.rider
    zones = clear_checks(
        q.van, stand.place, rider.chair, rider.body, stand.ride.layers, stand.pose, q.basis, plan,
        others,
    )  # fmt: skip
    by_id = {c.id: c for c in zones}
    return tuple(by_id.get(c.id, c) for c in stand.held)


def _spot_only(q: Question, stand: Stand, check: Check) -> Check:
    """A fail at the preferred spot is no proof for the place; the drive engine proves those."""
    if check.finding is not Finding.FAILS or check.check_class not in DECIDING:
        return check
    rider = stand.seated.rider
    here = check.id.startswith(_AT_THE_SPOT)
    if check.id == "place.strap.rating":
        here = not overloaded(q.van, stand.place, rider.chair, rider.body, q.basis, rider.equipment)
    if here:
        return replace(check, finding=Finding.CLOSE, note=f"{check.note} {ELSEWHERE}".strip())
    return check


def meets(one: Sequence[Prism], other: Sequence[Prism]) -> bool:
    """Whether two things at rest touch."""
    return any(
        a.z[0] < b.z[1] and b.z[0] < a.z[1] and Polygon(a.polygon).intersects(Polygon(b.polygon))
        for a in one
        for b in other
    )


@dataclass(frozen=True, slots=True)
class Found:
    """A certified way, the climb it begins with, and the scene of its certificate."""

    way: Way
    climbed: Climbed
    bad: Scene


@dataclass(frozen=True, slots=True)
class Ways:
    """Ways of chairs to places, each asked once."""

    question: Question
    _found: dict[object, Found | None] = field(default_factory=dict)
    _shut: dict[object, Way | None] = field(default_factory=dict)
    _barred: dict[object, frozenset[tuple[str, str]]] = field(default_factory=dict)

    def barred(self, stand: Stand) -> frozenset[tuple[str, str]]:
        """Seat states that may stand where the chair is to stand: no yes with any of them."""
        if stand.key not in self._barred:
            seats = self.question.rooms[Side.BAD].seats
            self._barred[stand.key] = frozenset(
                key for key, prisms in seats.items() if meets(stand.parked, prisms)
            )
        return self._barred[stand.key]

    def find(
        self, stand: Stand, plan: Plan, before: Sequence[Stand], effort: Effort
    ) -> Found | None:
        """A certified way with these seats, past the chairs that came before."""
        key = (stand.key, tuple(plan.items()), frozenset(s.key for s in before))
        for known in Effort:
            if (found := self._found.get((key, known))) is not None:
                return found
        if any((key, known) in self._found for known in Effort if known >= effort):
            return None
        found = None
        for climbed in self.question.entries(stand.seated):
            asked, wheels = self.asked(stand, climbed, plan, before)
            q = self.question
            way = drive_in(q.basis, q.van, asked, wheels, q.late, effort=effort)
            if way is not None:
                found = Found(way, climbed, asked.bad)
                break
        self._found[(key, effort)] = found
        return found

    def asked(
        self, stand: Stand, climbed: Climbed, plan: Plan, before: Sequence[Stand]
    ) -> tuple[Asked, Prism]:
        """The scene at its bad end, and the rectangle round the wheels."""
        q, chair = self.question, stand.seated.rider.chair
        bad = body(q.basis, chair, climbed.sitting.layers, Side.BAD)
        wheels = wheel_prism(q.basis, chair, bad, BELOW_FLOOR)
        way = way_in(
            q.basis, q.entry, bad, wheels, climbed.direction, floor_tolerance(q.basis, q.van)
        )
        obstacles = q.rooms[Side.BAD].prisms(plan) + tuple(p for s in before for p in s.parked)
        scene = bad_scene(
            q.basis, q.van, q.entry, obstacles, bad, way.inside, stand.pose,
            drive_of(q.basis, chair),
        )  # fmt: skip
        return Asked(way, scene), wheels

    def closed(self, stand: Stand, plan: Plan) -> Way | None:
        """The proof that this chair does not get to this place with only these seats standing.

        Nobody else's chair stands in the way here, so it is a no for every company and order; it
        holds for every posture.
        """
        key = (*stand.key[:2], tuple(plan.items()))
        if key not in self._shut:
            q = self.question
            found = shut(self._good(stand, plan), q.late)
            told = None
            if found is not None:
                told = no_way(q.basis, q.van, found, q.late, explain=False)
            self._shut[key] = told
        return self._shut[key]

    def explained(self, way: Way) -> Way:
        """The same no, with where it is closed, if that is to be told."""
        q = self.question
        if way.shut is None or not q.explain:
            return way
        return no_way(q.basis, q.van, way.shut, q.late, explain=True)

    def open(self, stand: Stand, plan: Plan, before: Sequence[Stand], *, explain: bool) -> Way:
        """What is neither found nor closed, as a close call."""
        q, bad = self.question, None
        barred = self.barred(stand)
        if not any(seat in barred for seat in plan.items()):
            asked, _ = self.asked(stand, q.best_climb(stand.seated), plan, before)
            bad = asked.bad
        explain = explain and q.explain
        return open_way(q.basis, q.van, bad, self._good(stand, plan), q.late, explain=explain)

    def _good(self, stand: Stand, plan: Plan) -> Scene:
        q = self.question
        assert stand.spot.good is not None
        obstacles = q.rooms[Side.GOOD].prisms(plan)
        return good_scene(q.basis, q.van, q.entry, obstacles, stand.seated.common, stand.spot.good)


def stands_free(q: Question, stand: Stand, bad: Scene) -> Check:
    """The posture for the ride, at rest in the place, against everything around."""
    from sillway.fit.drive.kernel import pose_clearance
    from sillway.fit.drive.packed import pack

    sitting = body(q.basis, stand.seated.rider.chair, stand.ride.layers, Side.BAD)
    gap = pose_clearance(pack(replace(bad, body=sitting)), stand.pose)[0]
    margin = Margin(gap, gap, "mm")
    return Check(
        "cabin.stand", "Does the chair stand free in its place in the posture for the ride?",
        CheckClass.PHYSICAL,
        Finding.CLOSE if finding_of(margin) is Finding.FAILS else Finding.HOLDS, margin,
        "a gap all round", show_length(gap), (), cite(q.basis, "physics.solid"),
    )  # fmt: skip
