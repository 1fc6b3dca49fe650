"""Measuring a van and a rider by pages: who may, what is kept, what is refused, what clashes."""

import pytest
from django.test import Client

from sillway.records.read import van_from
from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.records import create_record, read_record, save_record
from sillway.web.measure.steps import walk
from sillway.web.policy import Role
from workbench_help import demo

ANA = By("Ana", "page")
PAGES = ["/measure/", "/measure/van/{}/", "/measure/van/{}/review/", "/measure/van/{}/ramp-length/"]


@pytest.fixture
def bare(db):
    """A van of which only the name is known."""
    doc = {"kind": "van", "stock_number": "N-9", "year": 2020, "make": "Orrin", "model": "Teal"}
    return create_record("van", Content(doc), ANA).record


def post(client, url, base=1, **given):
    return client.post(url, {"base": base, **given})


@pytest.mark.parametrize("page", PAGES)
def test_who_may_open_a_page_of_measuring(page, van, signed_in, account):
    url = page.format(van)
    assert Client().get(url).status_code == 302
    assert signed_in(Role.MECHANIC).get(url).status_code == 200
    assert signed_in(Role.BOOKKEEPER).get(url).status_code == 403
    assert signed_in(Role.SELLER).delete(url).status_code == 405


def test_pages_of_a_rider_are_for_sellers_and_never_kept_on_a_phone(rider, signed_in):
    mechanic, seller = signed_in(Role.MECHANIC), signed_in(Role.SELLER)
    for page in ("", "review/", "slice-knees/"):
        url = f"/measure/rider/{rider}/{page}"
        assert mechanic.get(url).status_code == 403
        answer = seller.get(url)
        assert answer.status_code == 200
        assert "Sillway-Keep" not in answer.headers
        assert "data-outbox=" not in answer.content.decode()


def test_a_page_that_is_not_there(owner, van, rider):
    for url in (f"/measure/van/{van}/wings/", f"/measure/van/{rider}/ramp-length/",
                "/measure/van/999/", f"/measure/van/{van}/seats/?entry=nobody"):  # fmt: skip
        assert owner.get(url).status_code == 404, url


def test_a_measure_is_kept_as_written_with_its_way_and_leads_on(owner, bare):
    url = f"/measure/van/{bare}/ramp-length/"
    answer = post(owner, url, **{"ramp.length": "57 1/4 in", "way": "maker's drawing"})
    assert answer.status_code == 302
    assert answer.url == f"/measure/van/{bare}/ramp-spans/"
    read = read_record(bare)
    assert read.content.doc["ramp"] == {"length": {"value": "57 1/4 in", "way": "maker's drawing"}}
    assert read.revision.number == 2


def test_what_is_not_understood_is_said_at_its_field_and_nothing_is_lost(owner, bare):
    url = f"/measure/van/{bare}/ratings/"
    answer = post(owner, url, **{"ratings.gvwr": "heavy", "ratings.gawr_front": "2950 lb"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'href="#q-1"' in page
    assert 'value="heavy"' in page
    assert 'value="2950 lb"' in page
    assert read_record(bare).revision.number == 1


def test_what_cannot_be_measured_needs_a_reason_and_is_kept_in_the_history(owner, bare):
    url = f"/measure/van/{bare}/ramp-lift-force/"
    assert post(owner, url, cannot="yes").status_code == 422
    post(owner, url, cannot="yes", reason="no tool for it", reason_more="scale broke")
    assert read_record(bare).content.card["not_measured"] == {
        "ramp-lift-force": "no tool for it: scale broke"
    }
    assert "No tool for it at hand: scale broke" in owner.get(url).content.decode()
    assert "1 cannot be measured" in owner.get(f"/measure/van/{bare}/").content.decode()
    post(owner, url, base=2, **{"ramp.lift_force": "19 N"})
    assert read_record(bare).content.card["not_measured"] == {}
    # The van's own page and the form of its card still open.
    assert owner.get(f"/vans/{bare}/").status_code == 200
    assert owner.get(f"/vans/{bare}/edit/card/").status_code == 200


def test_seats_are_added_one_after_the_other_changed_renamed_and_taken_out(owner, bare):
    url = f"/measure/van/{bare}/seats/"
    seat = {"row": "2", "side": "left", "in_use.outline.x0": "46", "in_use.outline.x1": "70",
            "in_use.outline.y0": "10 1/2", "in_use.outline.y1": "28.5"}  # fmt: skip
    answer = post(owner, url, id="second left", more="yes", **seat)
    assert answer.url == url
    # The same name once more says only what is new.
    post(owner, url, base=2, id="second left", mass="48 lb")
    assert read_record(bare).content.doc["seats"] == [
        {"id": "second left", "row": 2, "side": "left",
         "in_use": {"outline": {"x": ["46", "70"], "y": ["10 1/2", "28.5"], "way": "tape"}},
         "mass": {"value": "48 lb", "way": "tape"}}
    ]  # fmt: skip
    page = owner.get(f"{url}?entry=second left").content.decode()
    assert 'value="10 1/2"' in page
    post(owner, f"{url}?entry=second left", base=3, id="left bench", row="2", side="left", mass="")
    (kept,) = read_record(bare).content.doc["seats"]
    assert kept["id"] == "left bench"
    assert "mass" not in kept
    post(owner, f"{url}?entry=left bench", base=4, remove="yes")
    assert "seats" not in read_record(bare).content.doc


def test_an_entry_without_a_name_is_asked_for_one(owner, bare):
    assert post(owner, f"/measure/van/{bare}/seats/", row="2").status_code == 422


def test_two_people_measure_the_same_thing_and_see_both_answers(owner, bare):
    url = f"/measure/van/{bare}/door-width/"
    doc = {**read_record(bare).content.doc, "door": {"width": {"value": "38 in", "way": "tape"}}}
    save_record(bare, Content(doc), ANA, base=1)
    answer = post(owner, url, **{"door.width": "39 in", "way": "tape"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "39 in (tape)" in page
    assert "38 in (tape)" in page
    assert 'name="base" value="2"' in page
    post(owner, url, base=2, **{"door.width": "39 in", "way": "tape"})
    assert read_record(bare).content.doc["door"]["width"]["value"] == "39 in"


def test_different_things_measured_at_once_are_joined(owner, bare):
    doc = {**read_record(bare).content.doc, "door": {"width": {"value": "38 in", "way": "tape"}}}
    save_record(bare, Content(doc), ANA, base=1)
    post(owner, f"/measure/van/{bare}/door-height/", **{"door.height": "56 in"})
    assert set(read_record(bare).content.doc["door"]) == {"width", "height"}


def test_looking_at_a_whole_van_step_by_step_changes_nothing(owner, van):
    """Sending every page of a walk back as it was shown leaves the record as it was."""
    before = read_record(van).content.doc
    for step in walk("van").steps:
        url = f"/measure/van/{van}/{step.id}/"
        form = owner.get(url).context["form"]
        given = {name: form[name].value() or "" for name in form.fields}
        post(owner, url, base=read_record(van).revision.number, **given)
    after = read_record(van)
    assert after.content.doc == before
    assert after.revision.number == 1


def test_a_van_measured_page_by_page_is_whole(owner, bare):
    """Every answer of a demo van, typed into the pages, gives a record the fit can read."""
    from sillway.web.measure.form import StepForm

    whole = {**demo("van"), "units": "inch-pound"}
    of = walk("van")
    for step in of.steps:
        url = f"/measure/van/{bare}/{step.id}/"
        entries = [""]
        if step.each:
            from sillway.web.measure import paths

            entries = [one[step.key] for one in paths.get(whole, step.each) or []]
        for entry in entries:
            form = StepForm(step, of, whole, entry=entry)
            given = {name: form[name].value() or "" for name in form.fields}
            answer = post(owner, url, base=read_record(bare).revision.number, **given)
            assert answer.status_code == 302, (step.id, answer.context["form"].errors)
    measured, there = van_from(read_record(bare).content.doc), van_from(whole)
    assert measured.ramp.length.value == there.ramp.length.value
    assert measured.cabin.floor.points_mm == there.cabin.floor.points_mm
    assert [s.in_use.outline.points_mm for s in measured.seats] == [
        s.in_use.outline.points_mm for s in there.seats
    ]
    assert [p.front_anchors for p in measured.places] == [p.front_anchors for p in there.places]
    assert measured.tires[0].tread[2].value == there.tires[0].tread[2].value


def test_a_rider_is_measured_slice_by_slice(owner, rider):
    url = f"/measure/rider/{rider}/slice-knees/"
    page = owner.get(url).content.decode()
    assert "Wall to its foremost point" in page
    base = read_record(rider).revision.number
    slice_ = {"chair.layers.bottom": "12", "chair.layers.top": "27", "chair.layers.back": "5",
              "chair.layers.front": "39 3/4", "chair.layers.width": "25"}  # fmt: skip
    assert post(owner, url, base=base, **slice_).status_code == 302
    layers = read_record(rider).content.doc["chair"]["layers"]
    knees = next(one for one in layers if one["name"] == "knees")
    assert knees["front"] == {"value": "39 3/4", "way": "tape"}


def test_spanish(owner, bare):
    page = owner.get(f"/measure/van/{bare}/ramp-length/", headers={"Accept-Language": "es"})
    assert "Largo de la rampa" in page.content.decode()
