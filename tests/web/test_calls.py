"""The call sheet: growing field by field, nothing typed lost, the lot screened each time."""

import pytest
from django.test import Client

from sillway.store.by import By
from sillway.store.models import Record
from sillway.store.pack import Content
from sillway.store.records import create_record, read_record, save_record
from sillway.web.calls.answers import put, unclear, values
from sillway.web.calls.lot import talk
from sillway.web.fits.keep import today
from workbench_help import demo


@pytest.fixture
def lot(db):
    """Five vans of the demo lot."""
    ana = By("Ana", "page")
    return [
        create_record("van", Content(demo("van", place), {"stage": "for sale"}), ana).record
        for place in range(5)
    ]


@pytest.fixture
def seller(signed_in):
    return signed_in("seller", "Sue")


def begin(client, **given):
    answer = client.post("/calls/new/", given)
    assert answer.status_code == 302
    return int(answer.url.strip("/").rsplit("/", 1)[1])


def send(client, number, htmx=True, **given):
    """Post the sheet as it is shown, with these answers typed over."""
    shown = client.get(f"/calls/{number}/")
    data = {"base": read_record(number).row.version, "passed": "", "way": "reported"}
    data["asked"] = shown.context["ask"]["id"] if shown.context["ask"] else ""
    data |= values(read_record(number).content)
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(f"/calls/{number}/answer/", data | given, headers=headers)


def test_a_call_begins_with_a_name_or_with_nothing(seller, lot):
    number = begin(seller, name="Zwinda Orrel", phone="(555) 010-2222")
    content = read_record(number).content
    assert (content.doc["name"], content.card["phone"]) == ("Zwinda Orrel", "(555) 010-2222")
    assert content.card["stage"] == "calling"
    other = begin(seller)
    page = seller.get(f"/calls/{other}/")
    assert page.status_code == 200
    assert page.context["focus"] == "name"
    assert "Zwinda Orrel" in seller.get("/calls/").content.decode()


def test_the_caller_is_sealed(seller, lot):
    number = begin(seller, name="Zwinda Orrel", phone="(555) 010-2222")
    row = Record.objects.get(pk=number)
    assert row.person
    assert row.title == ""


def test_the_kind_is_asked_first_then_what_settles_most(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    assert seller.get(f"/calls/{number}/").context["ask"]["id"] == "drive"
    answer = send(seller, number, drive="mid-wheel drive")
    assert answer.status_code == 200
    ask = answer.context["ask"]["id"]
    ranked = talk(read_record(number).content.doc, frozenset(), today())
    assert ask == ranked.ask
    assert answer.context["settles"] == ranked.settles > 0
    text = answer.content.decode()
    assert "<html" not in text
    assert 'hx-swap-oob="innerHTML"' in text


def test_each_answer_is_kept_at_once_and_narrows_the_lot(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    send(seller, number, drive="mid-wheel drive")
    out = 0
    told = {"head": "4' 9\"", "wheels": "26 1/2", "elbows": "71 cm", "length": "47 to 48",
            "rider_mass": "240", "chair_mass": "350 lb"}  # fmt: skip
    for name, typed in told.items():
        answer = send(seller, number, **{name: typed})
        assert values(read_record(number).content)[name] == typed
        now = len(answer.context["talk"].out)
        assert now >= out
        out = now
    assert out > 0
    assert read_record(number).row.complete
    assert len(answer.context["talk"].vans) == 5
    layers = {one["name"]: one for one in read_record(number).content.doc["chair"]["layers"]}
    assert layers["elbows"]["width"] == {"value": "71 cm", "way": "reported"}
    assert read_record(number).row.version == 8


def test_measures_off_a_tape_are_kept_as_such(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    send(seller, number, drive="manual", wheels="25", way="tape")
    layers = read_record(number).content.doc["chair"]["layers"]
    assert layers[0]["width"] == {"value": "25", "way": "tape"}


def test_enter_on_an_empty_answer_passes_it_over(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    answer = send(seller, number, drive="mid-wheel drive")
    first = answer.context["ask"]["id"]
    data = {"base": answer.context["read"].revision.number, "asked": first, first: ""}
    answer = seller.post(f"/calls/{number}/answer/", data, headers={"HX-Request": "true"})
    assert answer.context["ask"]["id"] != first
    assert first in answer.context["passed"]
    assert read_record(number).row.version == 2


def test_what_is_not_understood_is_shown_kept_and_stops_nothing_else(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    answer = send(seller, number, drive="manual", wheels="thirty-ish", head="50", note="calls back")
    text = answer.content.decode()
    assert 'id="wheels_error"' in text
    assert 'href="#wheels"' in text
    assert "thirty-ish" in text
    content = read_record(number).content
    assert values(content)["head"] == "50"
    assert values(content)["note"] == "calls back"
    assert unclear(content) == {"wheels": "thirty-ish"}
    again = seller.get(f"/calls/{number}/")
    assert again.context["ask"]["id"] == "wheels"
    assert again.context["ask"]["text"] == "thirty-ish"
    send(seller, number, wheels="30")
    content = read_record(number).content
    assert unclear(content) == {}
    assert content.doc["note"] == "calls back"


def test_a_size_out_of_all_reason_is_not_understood_either(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    answer = send(seller, number, drive="manual", head="900")
    assert "900" in answer.context["wrong"]["head"]
    assert unclear(read_record(number).content) == {"head": "900"}


def test_without_script_the_page_comes_whole(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    assert send(seller, number, htmx=False, drive="manual").status_code == 302
    answer = send(seller, number, htmx=False, wheels="wide")
    assert answer.status_code == 422
    assert "<html" in answer.content.decode()


def test_two_on_the_phone_lose_nothing(seller, signed_in, lot):
    number = begin(seller, name="Zwinda Orrel")
    send(seller, number, drive="manual")
    base = read_record(number).row.version
    shown = values(read_record(number).content)
    other = signed_in("owner", "Olga")
    send(other, number, head="51", wheels="25")
    data = {"base": base, **shown, "head": "52", "length": "44"}
    answer = seller.post(f"/calls/{number}/answer/", data, headers={"HX-Request": "true"})
    now = values(read_record(number).content)
    assert (now["head"], now["wheels"], now["length"]) == ("51", "25", "44")
    assert "Olga" in answer.context["wrong"]["head"]
    assert answer.context["ask"]["text"] == "52"
    data |= {"base": answer.context["read"].revision.number, "wheels": "25"}
    seller.post(f"/calls/{number}/answer/", data, headers={"HX-Request": "true"})
    assert values(read_record(number).content)["head"] == "52"


def test_a_rider_measured_part_by_part_keeps_the_layers(seller, rider, lot):
    before = read_record(rider).content.doc["chair"]["layers"]
    page = seller.get(f"/calls/{rider}/")
    assert page.status_code == 200
    assert "wheels" not in {row["id"] for row in page.context["rest"]}
    send(seller, rider, rider_mass="231 lb", note="speaks softly")
    doc = read_record(rider).content.doc
    assert doc["chair"]["layers"] == before
    assert "231 lb" in str(doc["body"]["mass"])


def test_a_van_not_measured_whole_is_counted_and_not_asked(seller, lot):
    create_record("van", Content({"kind": "van", "stock_number": "N-9"}), By("Ana", "page"))
    number = begin(seller, name="Zwinda Orrel")
    assert seller.get(f"/calls/{number}/").context["talk"].not_whole == 1


def test_a_van_that_is_gone_is_not_offered(seller, lot):
    read = read_record(lot[0])
    save_record(lot[0], Content(read.content.doc, {"stage": "gone"}), By("Ana", "page"), base=1)
    number = begin(seller, name="Zwinda Orrel")
    assert len(seller.get(f"/calls/{number}/").context["talk"].vans) == 4


def test_nothing_changed_makes_no_revision(seller, lot):
    number = begin(seller, name="Zwinda Orrel")
    send(seller, number)
    assert read_record(number).row.version == 1


def test_put_takes_answers_one_by_one():
    told = put(Content({"kind": "rider"}), {"drive": "unicycle", "head": "50"}, "tape", today())
    assert set(told.wrong) == {"drive"}
    assert values(told.content)["head"] == "50"
    assert values(told.content)["drive"] == "unicycle"


@pytest.mark.parametrize("role", ["mechanic", "book-keeper", "viewer"])
def test_callers_are_not_for_every_role(signed_in, rider, role):
    client = signed_in(role, "Max")
    assert client.get("/calls/").status_code == 403
    assert client.post("/calls/new/", {"name": "x"}).status_code == 403
    assert client.get(f"/calls/{rider}/").status_code == 403
    assert client.post(f"/calls/{rider}/answer/", {"head": "50"}).status_code == 403


def test_strangers_bad_numbers_and_wrong_verbs(seller, van, rider):
    for url in ("/calls/", f"/calls/{rider}/"):
        assert Client().get(url).url.startswith("/accounts/sign-in/")
    assert Client().post("/calls/new/").url.startswith("/accounts/sign-in/")
    for url in (f"/calls/{van}/", "/calls/4711/"):
        assert seller.get(url).status_code == 404
        assert seller.post(f"{url}answer/").status_code == 404
    assert seller.get("/calls/new/").status_code == 405
    assert seller.get(f"/calls/{rider}/answer/").status_code == 405
    assert seller.post(f"/calls/{rider}/").status_code == 405
