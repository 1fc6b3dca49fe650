"""Units: what people write, and what the published definitions say."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import zoo
from sillway import units
from sillway.errors import BadInput
from sillway.units import Kind, parse, parse_slope_rad, show_inches, show_slope

IN = Fraction(254, 10)


def test_units_are_those_of_the_published_definitions() -> None:
    # International yard and pound agreement, 1 July 1959: yard = 0.9144 m, pound = 0.453 592 37 kg.
    assert Fraction("914.4") == units.MM_PER_IN * 36
    assert Fraction("0.45359237") == units.KG_PER_LB
    # 1,760 yards to the mile.
    assert 1760 * Fraction("0.9144") == units.M_PER_MILE
    # Standard gravity: 3rd CGPM, 1901. Pound-force: NIST SP 811 Appendix B, 4.448 222 N.
    assert Fraction("9.80665") == units.G_M_S2
    assert round(float(units.N_PER_LBF), 6) == 4.448222
    assert Fraction("0.79375") == units.MM_PER_32ND


# The first seven are those that general unit libraries were found to misread without a word.
@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("34 1/2 in", Fraction(69, 2)),
        ("2 ft 10 1/2 in", Fraction(69, 2)),
        ('34-1/2"', Fraction(69, 2)),
        ("34½ in", Fraction(69, 2)),
        ('2 ft 10-1/2"', Fraction(69, 2)),
        ('34"', Fraction(34)),
        ("5'4\"", Fraction(64)),
        ("34", Fraction(34)),
        ("34.5", Fraction(69, 2)),
        (".5 in", Fraction(1, 2)),
        ("29 3/8”", Fraction(235, 8)),
        ("4’ 7-1/4″", Fraction(221, 4)),
        ("4' 7", Fraction(55)),
        ("6 ft", Fraction(72)),
        ("3 ft 2", Fraction(38)),
        ("7/32", Fraction(7, 32)),
        ("1,234 in.", Fraction(1234)),
        ("5''", Fraction(5)),
        ("  12   INCHES ", Fraction(12)),
    ],
)
def test_a_length_reads_as_a_tape_would(text: str, inches: Fraction) -> None:
    assert parse(text, Kind.LENGTH, "x") == inches * IN


@pytest.mark.parametrize(
    ("text", "kind", "inside"),
    [
        ("86 cm", Kind.LENGTH, Fraction(860)),
        ("1.4 m", Kind.LENGTH, Fraction(1400)),
        ("9/32", Kind.TREAD, IN * 9 / 32),
        ("9", Kind.TREAD, IN * 9 / 32),
        ("9 32nds", Kind.TREAD, IN * 9 / 32),
        ("7 mm", Kind.TREAD, Fraction(7)),
        ("100 lb", Kind.MASS, Fraction("45.359237")),
        ("312 lbs.", Kind.MASS, 312 * Fraction("0.45359237")),
        ("500 g", Kind.MASS, Fraction(1, 2)),
        ("42,609 mi", Kind.DISTANCE, 42609 * Fraction("1.609344")),
        ("19 N", Kind.FORCE, Fraction(19)),
    ],
)
def test_other_units_read(text: str, kind: Kind, inside: Fraction) -> None:
    assert parse(text, kind, "x") == inside


@pytest.mark.parametrize(
    ("kind", "inside"),
    [(Kind.LENGTH, 34), (Kind.TREAD, 34), (Kind.MASS, 34), (Kind.DISTANCE, 34), (Kind.FORCE, 34)],
)
def test_a_bare_number_in_a_metric_record_is_the_inside_unit(kind: Kind, inside: int) -> None:
    assert parse("34", kind, "x", metric=True) == inside


@pytest.mark.parametrize("parts", [16, 32])
@given(steps=st.integers(-4000, 4000))
def test_what_is_shown_in_inches_reads_back(parts: int, steps: int) -> None:
    mm = steps * IN / parts
    assert parse(show_inches(float(mm), parts), Kind.LENGTH, "x", signed=True) == mm


@given(feet=st.integers(0, 40), sixteenths=st.integers(0, 12 * 16 - 1))
def test_feet_and_inches_read_back(feet: int, sixteenths: int) -> None:
    rest = show_inches(float(sixteenths * IN / 16)).removesuffix(" in")
    for text in (f"{feet}' {rest}\"", f"{feet} ft {rest} in", f"{feet}'-{rest}"):
        assert parse(text, Kind.LENGTH, "x") == (feet * 192 + sixteenths) * IN / 16


@given(tenths=st.integers(0, 100_000), unit=st.sampled_from(["mm", "cm", "m"]))
def test_metric_reads_back(tenths: int, unit: str) -> None:
    per = {"mm": 1, "cm": 10, "m": 1000}[unit]
    text = f"{tenths // 10}.{tenths % 10} {unit}"
    assert parse(text, Kind.LENGTH, "x") == Fraction(tenths, 10) * per


@given(pounds=st.integers(0, 20_000))
def test_pounds_read_back(pounds: int) -> None:
    kg = parse(f"{pounds:,} lb", Kind.MASS, "x")
    assert kg == pounds * Fraction("0.45359237")
    assert units.show_mass(float(kg)).startswith(f"{pounds} lb")


@pytest.mark.parametrize(
    "text",
    ["", "abc", "34 furlongs", "34 kg", "-3 in", "1/0 in", "3 5/4 in", "2 ft 14 in", "34,5 in",
     "1 2 3", "--3", "in", "1e3", "inf", "nan", "٣٤ in", "34 1/2 in in", "0x10", "9" * 60],
)  # fmt: skip
def test_nonsense_lengths_are_refused_with_the_field_named(text: str) -> None:
    with pytest.raises(BadInput, match=r"^ramp\.length: ") as caught:
        parse(text, Kind.LENGTH, "ramp.length")
    assert "\n" not in str(caught.value)


@given(text=st.text(max_size=60), kind=st.sampled_from(Kind), metric=st.booleans())
def test_hostile_text_is_a_number_or_one_line(text: str, kind: Kind, metric: bool) -> None:
    if kind is Kind.SLOPE:
        number, error = zoo.outcome(parse_slope_rad, text, "f")
        assert error is not None or abs(number) < math.pi / 4
    else:
        number, error = zoo.outcome(parse, text, kind, "f", metric=metric)
        assert error is not None or number >= 0
    assert error is None or (str(error).startswith("f: ") and str(error).isprintable())


@given(text=st.text(alphabet="0123456789/.,-'\" infteblcmg½", max_size=40))
def test_text_that_is_nearly_a_measure_is_a_number_or_one_line(text: str) -> None:
    for kind in (Kind.LENGTH, Kind.TREAD, Kind.MASS):
        number, error = zoo.outcome(parse, text, kind, "f")
        assert error is not None or number >= 0
        assert error is None or str(error).isprintable()


@pytest.mark.parametrize(
    ("text", "rad"),
    [("1:12", math.atan(1 / 12)), ("8 %", math.atan(0.08)), ("4.8 deg", math.radians(4.8)),
     ("-1:20", -math.atan(1 / 20)), ("0 %", 0.0)],
)  # fmt: skip
def test_slopes_read(text: str, rad: float) -> None:
    assert parse_slope_rad(text, "x") == pytest.approx(rad, abs=1e-15)


@pytest.mark.parametrize("text", ["1:0", "100 %", "45 deg", "1/12", "12", "steep", "1:12:3"])
def test_slopes_that_are_none_are_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_slope_rad(text, "home.driveway_slope")


@given(n=st.integers(2, 400))
def test_a_slope_shown_reads_back(n: int) -> None:
    shown = show_slope(math.atan(1 / n))
    inside = shown[shown.index("(") + 1 : shown.index(")")]
    assert parse_slope_rad(inside, "x") == pytest.approx(math.atan(1 / n), abs=1e-4)
