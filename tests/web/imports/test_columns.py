"""Which column is which field."""

import pytest

from sillway.errors import BadInput
from sillway.web.imports.columns import checked, choices, split, suggested


def test_what_people_write_above_their_columns_is_recognised():
    header = ["Stock #", "VIN", "Yr", "Make", "Model", "Miles", "Door Height", "door.width",
              "ramp.length.way", "Ramp width", "GVWR", "Status", "Date in", "Colour", "Odometre",
              "seats.2.id"]  # fmt: skip
    assert suggested("van", header) == [
        "stock_number", "vin", "year", "make", "model", "odometer", "door.height", "door.width",
        "ramp.length.way", "ramp.width_at_hinge", "ratings.gvwr", "card.stage", "card.came_on",
        "", "", "seats.2.id",
    ]  # fmt: skip
    header = ["Customer Name", "Cell", "E-mail", "Chair type", "Weight"]
    assert suggested("rider", header) == [
        "name", "card.phone", "card.email", "chair.drive", "body.mass",
    ]  # fmt: skip


def test_every_suggested_field_and_every_choice_is_one():
    for kind in ("van", "rider"):
        for path in choices(kind):
            assert split(kind, path) == (path, "value"), path
        assert all(split(kind, path) for path in suggested(kind, choices(kind)))


@pytest.mark.parametrize(
    "path", ["colour", "door", "seats", "seats.0.id", "seats.x.id", "seats.01.id", "kind", "units",
             "door.width.colour", "make.way", "card.nothing", "card.phone.way", ""],
)  # fmt: skip
def test_what_is_no_field(path):
    assert split("van", path) is None


@pytest.mark.parametrize(
    ("chosen", "says"),
    [
        (["stock_number", "make", "modell"], "such as model"),
        (["stock_number", "make", "make"], "column B is it already"),
        (["make", "model", ""], "a column for stock_number"),
    ],
)
def test_a_choice_that_will_not_do(chosen, says):
    with pytest.raises(BadInput, match=says):
        checked("van", ["A", "B", "C"], chosen)


def test_columns_may_be_left_out():
    assert checked("van", ["A", "B"], ["stock_number", ""]) == ["stock_number", ""]
