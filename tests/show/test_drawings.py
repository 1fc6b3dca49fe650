"""Drawings: well-formed, to scale, nothing written over anything else."""

from __future__ import annotations

import itertools
import math
import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sillway.fit.drive.scene import Prism
from sillway.show.draw import motion
from sillway.show.draw.frame import WayIn, flanks, outline, posed, way_in
from sillway.show.draw.plan import plan
from sillway.show.draw.side import side
from sillway.show.draw.svg import Drawing, hatching, safe

SVG = "{http://www.w3.org/2000/svg}"


def drawings(case: Any) -> list[Drawing]:
    answer, van, rider = case
    views = [side(answer, v, van, rider, nth=i + 1) for i, v in enumerate(answer.side_views)]
    return [plan(answer, van, rider, "F-1"), *views]


def test_well_formed_with_title_and_description(case: Any) -> None:
    for d in drawings(case):
        root = ET.fromstring(d.svg())
        title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert desc is not None
        assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
        width, height = (float(root.get(k, "").removesuffix("mm")) for k in ("width", "height"))
        box = [float(x) for x in root.get("viewBox", "").split()]
        # One unit of the drawing is one millimetre of paper, so the scale holds in print.
        assert (width, height) == pytest.approx(tuple(box[2:]))
        assert height <= 240
        assert width <= 190


def test_everything_lies_inside_the_sheet(case: Any) -> None:
    for d in drawings(case):
        root = ET.fromstring(d.svg())
        u0, v0, w, h = (float(x) for x in root.get("viewBox", "").split())
        for shape in itertools.chain(root.iter(f"{SVG}polygon"), root.iter(f"{SVG}polyline")):
            for pair in shape.get("points", "").split():
                u, v = map(float, pair.split(","))
                assert u0 <= u <= u0 + w
                assert v0 <= v <= v0 + h


def test_no_label_lies_on_another(case: Any) -> None:
    for d in drawings(case):
        root = ET.fromstring(d.svg())
        texts = len(list(root.iter(f"{SVG}text")))
        assert texts >= 8
    for d in drawings(case):
        for a, b in itertools.combinations(d.texts, 2):
            assert not a.meets(b), (a, b)


def dimension_line_mm(d: Drawing, words: str) -> float:
    """Length on paper of the line that stands under the number that begins with these words."""
    (line,) = [line for line in d.dimensions if line.text.startswith(words)]
    return math.dist(line.p, line.q)


@pytest.mark.parametrize(
    ("words", "of"),
    [
        ("ramp hinge", lambda van: van.ramp.width_at_hinge.value),
        ("ramp foot", lambda van: van.ramp.width_at_foot.value),
        ("door", lambda van: van.door.width.value),
        ("floor 118", lambda van: 3000.0),
        ("floor 59", lambda van: 1520.0),
    ],
)
@pytest.mark.parametrize("side_entry", [False, True])
def test_plan_is_to_scale(sample: Any, words: str, of: Any, side_entry: bool) -> None:
    van = sample.van(side_entry=side_entry)
    d = plan(sample.fits(side_entry=side_entry), van, sample.rider())
    (scale,) = re.findall(r"scale 1:(\d+)", d.title)
    assert dimension_line_mm(d, words) * int(scale) == pytest.approx(of(van), abs=0.01)


def test_side_view_is_to_scale(sample: Any) -> None:
    van, answer = sample.van(), sample.fits()
    d = side(answer, answer.side_views[0], van, sample.rider())
    (scale,) = map(int, re.findall(r"scale 1:(\d+)", d.title))
    assert dimension_line_mm(d, "ramp") * scale == pytest.approx(van.ramp.length.value, abs=0.01)
    assert dimension_line_mm(d, "rise") * scale == pytest.approx(van.ramp.rise.value, abs=0.01)
    assert dimension_line_mm(d, "header") * scale == pytest.approx(van.door.height.value, abs=0.01)


def test_the_number_on_a_dimension_is_the_record(sample: Any) -> None:
    d = plan(sample.fits(), sample.van(), sample.rider())
    said = {line.text for line in d.dimensions}
    # 863.6 mm is 34 in and 838.2 mm is 33 in by definition of the inch.
    assert {"ramp hinge 34 in", "ramp foot 33 in"} <= said


@pytest.mark.parametrize(
    ("deciding", "heavy_plan", "heavy_side"),
    [("ramp.header", 0, 1), ("drive.in", 1, 0), ("load.gross", 0, 0)],
)
def test_only_the_deciding_margin_is_heavy(
    sample: Any, deciding: str, heavy_plan: int, heavy_side: int
) -> None:
    answer, van, rider = sample.fits(deciding=deciding), sample.van(), sample.rider()
    heavy = 'stroke-width="1.6"'
    assert (heavy in plan(answer, van, rider).svg()) == bool(heavy_plan)
    assert (heavy in side(answer, answer.side_views[0], van, rider).svg()) == bool(heavy_side)


def test_states_of_seats_differ_by_more_than_colour(sample: Any) -> None:
    svg = plan(sample.fits(), sample.van(), sample.rider()).svg()
    for words in ("A folded", "B out", "C in use", "seat folded", "seat out", "seat in use"):
        assert f">{words}<" in svg
    desc = ET.fromstring(svg).findtext(f"{SVG}desc") or ""
    assert "Seats: A 2L, folded; B 2R, out; C D, in use" in desc
    assert set(re.findall(r'(?:stroke|fill)="([^"]+)"', svg)) <= {"currentColor", "none", "#fff"}


def test_hostile_names_are_written_as_text(sample: Any) -> None:
    name = '<script>alert("x")</script> & \u202edna'
    d = plan(sample.fits(), sample.van(make=name), sample.rider(name=name))
    root = ET.fromstring(d.svg())
    assert not list(root.iter(f"{SVG}script"))
    assert safe("a\x07\ufffe\u202eb") == "ab"
    assert safe(name) in (root.findtext(f"{SVG}title") or "")


@given(
    st.lists(
        st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=3, unique=True
    ),
    st.floats(-90, 90),
)
@settings(max_examples=60, deadline=None)
def test_hatching_stays_inside_a_triangle(corners: list[tuple[float, float]], slant: float) -> None:
    def area(a: Any, b: Any, c: Any) -> float:
        return float((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))

    whole = abs(area(*corners))
    for a, b in hatching(corners, slant, 3.0):
        for point in (a, b):
            parts = [abs(area(point, *pair)) for pair in itertools.combinations(corners, 2)]
            assert sum(parts) <= whole + 1e-6 * (1 + whole) + 1e-5


def test_interpolation_keeps_to_the_arc() -> None:
    a, centre = (0.0, 0.0, 0.0), (0.0, 2000.0)
    b = motion.between(a, (0, 0, math.pi / 3), centre, 1.0)
    for k in range(11):
        x, y, heading = motion.between(a, b, centre, k / 10)
        assert math.dist((x, y), centre) == pytest.approx(2000)
        # The chair points along the tangent.
        assert math.cos(heading) * (x - centre[0]) + math.sin(heading) * (
            y - centre[1]
        ) == pytest.approx(0, abs=1e-6)


def test_steps_along_a_way_are_small(sample: Any) -> None:
    way = sample.certificate(side_entry=True)
    poses = motion.along(way.path, way.arcs, 50.0, 0.05)
    for a, b in itertools.pairwise(poses):
        assert math.dist(a[:2], b[:2]) <= 50.0 + 1e-9
        assert abs(a[2] - b[2]) <= 0.05 + 1e-9
    assert set(way.path) <= set(poses)


def test_moves_in_words() -> None:
    assert motion.move((0, 0, 0), (-254, 0, 0), None) == "Straight backwards 10 in (254 mm)."
    assert (
        motion.move((0, 0, 0), (0, 0, -math.pi / 2), None)
        == "Turn right on the spot by 90 degrees."
    )
    bend = motion.move((0, 0, 0), (1000, 1000, math.pi / 2), (0, 1000))
    assert bend.startswith("In a bend forwards")
    assert bend.endswith("turning left by 90 degrees.")
    backing = motion.move((0, 0, 0), (-1000, 1000, -math.pi / 2), (0, 1000))
    assert "backwards" in backing
    assert "turning right" in backing


def test_flanks_turn_with_the_chair() -> None:
    body = (Prism(((-500, -300), (600, -300), (600, 300), (-500, 300)), (0, 600)),)
    way = WayIn((0.0, 0.0), (1.0, 0.0))
    assert flanks(body, (100, 50, 0.0), way)[0] == pytest.approx((-500, 600))
    assert flanks(body, (100, 50, math.pi / 2), way)[0] == pytest.approx((-300, 300))
    assert flanks(body, (100, 50, math.pi), way)[0] == pytest.approx((-600, 500))


def test_outline_is_posed() -> None:
    body = (Prism(((-1, -1), (2, -1), (2, 1), (-1, 1)), (0, 1)),)
    xs = sorted(round(x, 9) for x, _ in outline(body, (10, 0, math.pi / 2)))
    assert xs == [9, 9, 11, 11]
    assert posed((1, 0), (10, 5, math.pi)) == pytest.approx((9, 5))


def test_way_in_of_a_side_entry_lies_on_the_right_edge(sample: Any) -> None:
    way = way_in(sample.van(side_entry=True))
    assert way.sill == (1500, -760)
    assert way.inward == (0.0, 1.0)
    assert way.s((1500, 0)) == 760
