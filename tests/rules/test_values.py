"""The figures themselves, against sources outside the TOML files."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

import sillway
import sillway.rules as rules
from sillway.rules.convert import LINEAR, UNITS, to_si, unit_si

ON = date(2026, 11, 25)
FOLDER = Path(sillway.__file__).parent / "rules"
HOUSE = "common practice, no source"


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_each_file_loads_alone_and_gives_si(path: Path) -> None:
    book = rules.load.read_file(path)
    assert book.history
    for rule in book:
        assert rule.file == path.name
        assert rule.question.endswith("?"), rule.id
        assert rule.checked >= date(2026, 11, 25), rule.id
        assert rule.in_force <= rule.checked, rule.id
        assert rule.unit_si in {
            "mm",
            "km",
            "kg",
            "N",
            "rad",
            "m/s2",
            "ratio",
            "count",
            "L",
            "kg/L",
            "text",
        }
        assert rule.si(), rule.id


def test_the_book_is_the_sum_of_its_files() -> None:
    counts = [len(rules.load.read_file(path).history) for path in FOLDER.glob("*.toml")]
    assert sum(counts) == len(rules.ids())


def test_kinds_and_provenance_agree() -> None:
    """What we assume or habitually do has no source; what is seen says what kind of text."""
    for rule in rules.all_rules():
        if rule.kind in ("assumed", "tolerance", "sanity", "trade"):
            assert rule.provenance == HOUSE, rule.id
        if rule.provenance == "seen":
            assert "een" in rule.note, rule.id
        if rule.kind == "assumed":
            cells = rule.value.values() if isinstance(rule.value, Mapping) else [rule.value]
            assert all(isinstance(cell, tuple) and cell[0] < cell[1] for cell in cells), rule.id


def test_printed_pairs_are_near_each_other() -> None:
    """A slip between inch and millimetre shows as more than three per cent."""
    seen = 0
    for rule in rules.all_rules():
        if rule.value_si is None:
            continue
        seen += 1
        pairs = zip(_flat(rule.value), _flat(rule.value_si), strict=True)
        for printed, metric in pairs:
            assert to_si(printed, rule.unit) == pytest.approx(metric, rel=0.03), rule.id
    assert seen > 40


def _flat(value: rules.Value) -> list[float]:
    if isinstance(value, Mapping):
        return [one for cell in value.values() for one in _flat(cell)]
    if isinstance(value, tuple):
        return list(value)
    assert isinstance(value, float)
    return [value]


@pytest.mark.parametrize(
    ("value", "unit", "expected", "unit_after"),
    [
        # SI brochure and NIST SP 811 appendix B: exact factors.
        (1, "in", 25.4, "mm"),
        (1, "ft", 304.8, "mm"),
        (1, "mi", 1.609344, "km"),
        (1, "in/32", 0.79375, "mm"),
        (1, "lb", 0.45359237, "kg"),
        (1, "lbf", 4.4482216152605, "N"),
        (1, "kgf", 9.80665, "N"),
        (1, "g", 9.80665, "m/s2"),
        (2, "cm", 20.0, "mm"),
        (2, "m", 2000.0, "mm"),
        (50, "percent", 0.5, "ratio"),
        (180, "deg", math.pi, "rad"),
        (1, "1:n", math.pi / 4, "rad"),
    ],
)
def test_conversion_is_exact(value: float, unit: str, expected: float, unit_after: str) -> None:
    assert to_si(value, unit) == expected
    assert unit_si(unit) == unit_after


def test_every_unit_converts() -> None:
    for unit in UNITS:
        if unit != "text":
            assert to_si(0.0, unit) == (math.pi / 2 if unit == "1:n" else 0.0)


def test_constants_say_what_the_conversions_do() -> None:
    expected = {
        "constant.inch": LINEAR["in"][0],
        "constant.foot": LINEAR["ft"][0],
        "constant.mile": LINEAR["mi"][0],
        "constant.pound": LINEAR["lb"][0],
        "constant.gravity": LINEAR["kgf"][0],
        "constant.pound_force": LINEAR["lbf"][0],
    }
    for rule_id, factor in expected.items():
        assert rules.number(rule_id, ON) == float(factor), rule_id
    # A US gallon is 231 cubic inches.
    cubic_inch_l = Fraction(254, 1000) ** 3
    assert rules.number("constant.gallon", ON) == float(231 * cubic_inch_l)


@pytest.mark.parametrize(
    ("rule_id", "degrees"),
    [
        # arctan(1/n), as printed in handbook tables of grades.
        ("ramp.slope.ground", 14.03624),
        ("ramp.slope.road", 9.46232),
        ("ramp.slope.platform", 7.12502),
        ("ramp.slope.building", 4.76364),
        ("space.route.slope", 2.86241),
        ("space.level", 1.19349),
    ],
)
def test_slopes_in_degrees(rule_id: str, degrees: float) -> None:
    assert math.degrees(rules.number(rule_id, ON)) == pytest.approx(degrees, abs=5e-6)


@pytest.mark.parametrize(
    ("rule_id", "si"),
    [
        # 2010 ADA Standards 304.3, 305.3, 502: the millimetres printed there.
        ("space.turn.circle", 1525),
        ("space.turn.t.width", 915),
        ("space.floor.width", 760),
        ("space.floor.length", 1220),
        ("park.van.width", 3350),
        ("park.aisle.width", 1525),
        ("park.height", 2490),
        # 49 CFR 38.23 and 38.25, with the millimetres of 36 CFR 1192 App. A.
        ("ramp.width.clear", 760),
        ("ramp.gap", 16),
        ("door.height.short", 1420),
        ("strap.force.leg", 11121),
        # SAE J2249 / RESNA WC18.
        ("place.zone.front", 650),
        ("place.zone.rear", 450),
        # RESNA WC19 and WC18: mass above which more straps may be needed; test chair.
        ("strap.count.mass", 125),
        ("place.crash.chair", 85),
        # 49 CFR 571.110 S3.
        ("load.seat", 68),
    ],
)
def test_printed_metric_figure_is_used(rule_id: str, si: float) -> None:
    assert rules.number(rule_id, ON) == si


def test_curb_table_grows_gentler_with_height() -> None:
    """49 CFR 38.23(c)(5): 1:4, 1:6, 1:8, 1:12."""
    slopes = rules.table("ramp.slope.curb", ON)
    assert [round(1 / math.tan(float(slopes[row])), 9) for row in ("3", "6", "9", "over")] == [  # type: ignore[arg-type]
        4,
        6,
        8,
        12,
    ]


def test_tie_down_test_pull_is_within_the_strap_rating() -> None:
    """Mechanics: 85 kg at 20 g on two rear straps is 8.3 kN each; 49 CFR 38.23(d)(1) has 11.1."""
    pull = rules.number("place.crash.chair", ON) * rules.number("place.crash.pulse", ON) / 2
    assert pull == pytest.approx(8335.65, abs=0.01)
    assert pull < rules.number("strap.force.leg", ON)


def test_tire_load_index_table() -> None:
    """Whole from 60 to 130, rising, and equal to points of a public chart in kg and in lb."""
    table = rules.table("tires.load_index", ON)
    assert list(table) == [str(index) for index in range(60, 131)]
    loads = [float(load) for load in table.values()]  # type: ignore[arg-type]
    assert all(low < high for low, high in pairwise(loads))
    # Pounds as printed in a tire shop's chart beside the kilograms; nearest pound either way.
    pounds = {
        71: 761,
        75: 853,
        80: 992,
        85: 1135,
        90: 1323,
        95: 1521,
        100: 1764,
        105: 2039,
        110: 2337,
    }
    for index, printed in pounds.items():
        assert float(table[str(index)]) / 0.45359237 == pytest.approx(printed, abs=1.0)  # type: ignore[arg-type]


def test_load_index_keeps_near_the_renard_series() -> None:
    """ISO 3: the loads are rounded numbers of the series R80, ratio 10^(1/80)."""
    for index, load in rules.table("tires.load_index", ON).items():
        assert load == pytest.approx(250 * 10 ** ((int(index) - 60) / 80), rel=0.02), index


def test_half_a_gallon_of_milk_weighs_about_19_newton() -> None:
    weight = rules.number("constant.milk.gallon", ON) / 2 * rules.number("constant.gravity", ON)
    assert weight == pytest.approx(rules.number("trade.ramp.lift", ON), abs=0.2)


def test_limits_of_relabelling() -> None:
    """49 CFR 571.110 S10: the lesser of 1.5 % of GVWR and 100 lb; the two meet at 6,666.7 lb."""
    share = rules.number("load.label.share", ON)
    assert share * 6050 == pytest.approx(90.75)
    assert 100 / share == pytest.approx(6666.667, abs=1e-3)


def test_ways_of_measuring_are_those_of_the_records() -> None:
    ways = {"tape", "reported", "scale ticket", "maker's drawing", "label", "assumed"}
    for rule_id in rules.ids():
        if rule_id.startswith("tolerance."):
            table = rules.table(rule_id, ON)
            assert set(table) == ways, rule_id
            assert all(float(cell) >= 0 for cell in table.values())  # type: ignore[arg-type]
    lengths = rules.table("tolerance.length", ON)
    assert (lengths["tape"], lengths["reported"], lengths["maker's drawing"]) == (3.0, 13.0, 6.0)


def test_assumed_ends_lie_in_the_sane_ranges() -> None:
    """An interval we assume must not be one we would refuse."""
    pairs = {
        "assumed.rider.mass": "sanity.rider.mass",
        "assumed.chair.mass": "sanity.chair.mass",
        "assumed.com.height": "sanity.com.height",
        "assumed.com.ahead": "sanity.com.ahead",
        "assumed.curb.mass": "sanity.van.curb",
        "assumed.tire.load_index": "sanity.tire.load_index",
        "assumed.ramp.rating": "sanity.ramp.rating",
        "assumed.anchor.rating": "sanity.anchor.rating",
        "assumed.clearance.ground": "sanity.clearance.ground",
        "assumed.turn.radius": "sanity.turn.radius",
        "assumed.wheelbase.van": "sanity.van.wheelbase",
    }
    for assumed, sane in pairs.items():
        low, high = rules.interval(sane, ON)
        ends = _flat(rules.rule(assumed, ON).si())
        assert low <= min(ends) < max(ends) <= high, assumed


def test_cautions_are_all_there() -> None:
    names = "aid maker installer clinician transfer law weigh ramp tip recall".split()  # noqa: SIM905
    told = {rule_id for rule_id in rules.ids() if rule_id.startswith("caution.")}
    assert told == {f"caution.{name}" for name in names}
