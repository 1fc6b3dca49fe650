"""Bad input is one printable line that names the field."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from sillway.errors import BadInput, shorten


@given(given=st.text() | st.integers() | st.floats() | st.binary() | st.none())
def test_the_sentence_is_one_printable_line(given: object) -> None:
    error = BadInput("ramp.length", given, "a length").at("van.json")
    assert str(error).isprintable()
    assert str(error).startswith("van.json: ramp.length: ")
    assert len(str(error)) < 500


def test_nothing_given_is_said_so() -> None:
    assert str(BadInput("name", "", "a few words")) == "name: nothing given; give a few words"


def test_a_number_too_long_to_print_is_still_told() -> None:
    # Python refuses to turn whole numbers of more than 4,300 digits into text.
    assert "thousands of digits" in str(BadInput("year", 10**5000, "a year"))


def test_at_keeps_field_and_wish() -> None:
    error = BadInput("door.width", "9 m", "less").at("a.json").at("b.json")
    assert (error.field, error.given, error.wanted, error.source) == (
        "door.width", "9 m", "less", "b.json",
    )  # fmt: skip


@given(text=st.text(), most=st.integers(1, 80))
def test_shorten_keeps_to_its_length(text: str, most: int) -> None:
    assert len(shorten(text, most)) <= most
