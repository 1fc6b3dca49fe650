"""The steps of measuring: they cover the record, in both languages, each with its drawing."""

import re

import pytest

from sillway.errors import BadInput
from sillway.records.fields import Takes, by_path
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show.draw.tape import views
from sillway.units import Kind, parse, parse_slope_rad
from sillway.web.measure import paths
from sillway.web.measure.shape import shape
from sillway.web.measure.steps import pattern, walk

KINDS = {"van": Van, "rider": Rider}
# What begins a record, what is told and not measured, and whole parts; each with why.
ELSEWHERE = {
    # On the page that begins a van; the wheel goes with its step.
    "van": {"stock_number", "year", "make", "model", "tires.*.wheel"},
    "rider": {
        "name",  # on the page that begins a rider
        "chair.layers.*.name", "chair.contacts.*.name", "chair.contacts.*.kind",  # go with a step
    },
}  # fmt: skip
# Measures a rider's walk leaves to the call: who comes along, and what nobody measures at a wall.
TOLD = re.compile(r"(postures|walkers|other_chairs|attendant|service_animal|equipment)\b"
                  r"|chair\.mass_centre|chair\.contacts\.\*\.travel")  # fmt: skip


def asked(kind):
    """Every field a walk asks for, as the records name it."""
    return {pattern(f"{step.each}[].{ask.path}" if step.each else ask.path)
            for step in walk(kind).steps for ask in step.asks}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_walk_covers_every_field_that_must_be_given(kind):
    fields = by_path(KINDS[kind])
    must = {path for path, one in fields.items() if one.required and one.takes is not Takes.PART}
    if kind == "rider":
        must = {path for path in must if not TOLD.match(path)}
    assert must - asked(kind) - ELSEWHERE[kind] == set()


@pytest.mark.parametrize("kind", KINDS)
def test_a_walk_covers_every_measure_that_is_useful(kind):
    fields = by_path(KINDS[kind])
    measures = {p for p, one in fields.items() if one.takes in (Takes.MEASURE, Takes.OUTLINE)}
    left = {path for path in measures - asked(kind) if not TOLD.match(path)}
    assert left == set()


@pytest.mark.parametrize("kind", KINDS)
def test_every_step_speaks_both_languages_and_has_its_drawing(kind):
    seen = set()
    for step in walk(kind).steps:
        assert step.id not in seen
        seen.add(step.id)
        assert re.fullmatch(r"[a-z-]+", step.id)
        assert step.drawing in views()
        for words in (step.title, step.how, step.chapter, *(ask.label for ask in step.asks)):
            assert words["en"]
            assert words["es"]
            assert "{}" not in words["en"] + words["es"]
        assert step.title["en"] != step.title["es"]
        assert len({ask.name for ask in step.asks}) == len(step.asks)


@pytest.mark.parametrize("kind", KINDS)
def test_letters_at_the_questions_are_those_in_the_drawing(kind):
    for step in walk(kind).steps:
        view = views()[step.drawing]
        drawn = {tape.letter for tape in view.tapes if tape.letter}
        if len(view.spots) > 1:
            drawn |= set("ABCDEFGH"[: len(view.spots)])
        lettered = {ask.letter for ask in step.asks if ask.letter}
        outlines = any(ask.field.takes is Takes.OUTLINE for ask in step.asks)
        if not outlines and step.id not in ("driveway", "door-centre", "slice-base"):
            assert lettered == drawn, step.id
        # An outline, a slope and a halved difference are asked whole; the base stands on the floor.


@pytest.mark.parametrize("kind", KINDS)
def test_choices_have_their_spanish(kind):
    of = walk(kind)
    for step in of.steps:
        for ask in step.asks:
            for one in ask.field.choices:
                assert one in of.words["es"], one


SAMPLES = {
    Kind.LENGTH: ["34", "34 1/2", "34 1/2 in", "29 3/8\"", "4' 7-1/4\"", "71.5 cm", "715mm",
                  "1.2 m", "6 ft", "½ in", "34½", "54 furlongs", "in", "34 to", "4' 13\"x", "",
                  "1,204 mm", "5 ft 3 in", ".5 in", "34 1/2 kg"],
    Kind.MASS: ["312 lb", "141.5 kg", "800 lbs", "1,950 lb", "300 g", "300 in", "heavy"],
    Kind.TREAD: ["9/32", "7 mm", "9/32 in", "9 32nds", "9/32 kg", "worn"],
    Kind.DISTANCE: ["42,609 mi", "68573 km", "42609", "42,60 mi", "42609 kg"],
    Kind.FORCE: ["19 N", "4.3 lbf", "4 lb", "19 mm"],
    Kind.SLOPE: ["1:12", "8 %", "4.8 deg", "-1:20", "steep", "12"],
}  # fmt: skip


@pytest.mark.parametrize(("kind", "text"), [(k, t) for k, many in SAMPLES.items() for t in many])
def test_the_browser_s_pattern_agrees_with_the_parser(kind, text):
    try:
        parse_slope_rad(text, "x") if kind is Kind.SLOPE else parse(text, kind, "x")
        understood = True
    except BadInput:
        understood = False
    # As in the page: case does not count.
    assert bool(re.fullmatch(shape(kind), text.strip(), re.IGNORECASE)) == understood


def test_the_pattern_takes_a_minus_only_where_there_may_be_one():
    assert re.fullmatch(shape(Kind.LENGTH, signed=True), "-3 1/2 in")
    assert not re.fullmatch(shape(Kind.LENGTH), "-3 1/2 in")
    assert re.fullmatch(shape(Kind.LENGTH), "34 to 35 in")


def test_paths_reach_into_lists_and_leave_nothing_empty_behind():
    doc = {"seats": [{"id": "a", "row": 1}]}
    paths.put(doc, "seats[b].in_use.outline", {"x": [0, 1], "y": [0, 1]})
    assert doc["seats"][1] == {"id": "b", "in_use": {"outline": {"x": [0, 1], "y": [0, 1]}}}
    paths.put(doc, "seats[b].in_use.outline", None)
    paths.put(doc, "seats[a]", None)
    assert doc == {}
    paths.put(doc, "nothing[there].at.all", None)
    assert doc == {}
