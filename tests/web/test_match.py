"""Match and fit pages: worked out in the background, kept sealed, shown while they hold."""

import json
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.test import Client

import sillway.web.fits.tasks
import sillway.web.match.tasks  # noqa: F401 - names the work
from sillway.store.by import By
from sillway.store.jobs import Handle, ask, run_next
from sillway.store.models import Job
from sillway.store.pack import Content
from sillway.store.persons import destroy_person
from sillway.store.records import create_record, read_record, save_record
from sillway.web.fits import keep
from sillway.web.fits.models import Fitted
from sillway.web.fits.work import Late, work_out
from sillway.web.match.lines import VERDICTS, for_rider, for_van
from sillway.web.match.who import lot, waiting
from workbench_help import ROOT, demo

ANA = By("Ana", "page")
NAME = "Anselm Drury"


def van_named(stem, stage="for sale"):
    doc = json.loads((ROOT / "demo" / "vans" / f"{stem}.json").read_text("utf-8"))
    return create_record("van", Content(doc, {"stage": stage}), ANA).record


@pytest.fixture
def pair(db):
    """A van and a rider whose header decides at once: numbers."""
    doc = json.loads((ROOT / "demo" / "riders" / "anselm.json").read_text("utf-8"))
    rider = create_record("rider", Content(doc, {"stage": "waiting"}), ANA).record
    return van_named("dunlin"), rider


@pytest.fixture
def seller(signed_in):
    return signed_in("seller", "Sue")


def worked(client, van, rider):
    client.post(f"/fits/{van}/{rider}/begin/")
    assert run_next("test")
    job = Job.objects.latest("pk")
    assert job.state == Job.State.DONE, job.says
    return job


def test_a_pair_is_worked_out_kept_sealed_and_shown(seller, pair):
    van, rider = pair
    page = seller.get(f"/fits/{van}/{rider}/")
    assert page.status_code == 200
    assert "Work it out" in page.content.decode()
    assert seller.get(f"/fits/{van}/{rider}/sheet.pdf").status_code == 404
    seller.post(f"/fits/{van}/{rider}/begin/")
    seller.post(f"/fits/{van}/{rider}/begin/")
    assert Job.objects.count() == 1
    waits = seller.get(f"/fits/{van}/{rider}/", headers={"HX-Request": "true"})
    assert "Waiting for its turn" in waits.content.decode()
    assert run_next("test")
    ready = seller.get(f"/fits/{van}/{rider}/", headers={"HX-Request": "true"})
    assert ready["HX-Refresh"] == "true"

    text = seller.get(f"/fits/{van}/{rider}/").content.decode()
    kept = Fitted.objects.get()
    row = keep.row_of(kept, read_record(rider).row)
    assert row["verdict"] in VERDICTS
    assert row["verdict"].capitalize() in text
    assert "Every check" in text
    assert "<svg" in text
    assert f"/vans/{van}/?revision=1" in text
    assert " style=" not in text
    assert "<style" not in text
    inline = text.count("<script") - text.count("<script src=")
    assert inline == text.count('<script type="application/json"')
    for sealed in (bytes(kept.row), bytes(kept.sheet)):
        assert NAME.encode() not in sealed
        assert b"verdict" not in sealed

    pdf = seller.get(f"/fits/{van}/{rider}/sheet.pdf")
    assert pdf["Content-Type"] == "application/pdf"
    assert pdf.content.startswith(b"%PDF")
    assert "drury" not in pdf["Content-Disposition"].lower()


def test_a_changed_record_makes_the_answer_an_older_one(seller, pair):
    van, rider = pair
    worked(seller, van, rider)
    read = read_record(van)
    save_record(van, Content({**read.content.doc, "note": "looked at"}, read.content.card), ANA,
                base=1)  # fmt: skip
    text = seller.get(f"/fits/{van}/{rider}/").content.decode()
    assert "older answer" in text
    assert "Every check" not in text
    assert seller.get(f"/fits/{van}/{rider}/sheet.pdf").status_code == 404


def test_an_answer_holds_until_a_rule_changes(pair, monkeypatch):
    van, rider = (read_record(one) for one in pair)
    kept = work_out(van, rider, Late(600), sheet=False)
    on = keep.today()
    assert keep.answer_for(van.row, rider.row, on) == kept
    assert keep.rules_of(on) <= on
    # Before the rules of today came into force the same answer does not hold.
    assert keep.answer_for(van.row, rider.row, keep.rules_of(on).replace(year=2021)) is None
    monkeypatch.setattr(keep, "made_with", lambda: "another version")
    assert keep.answer_for(van.row, rider.row, on) is None


def test_time_that_ran_out_is_said_and_can_be_tried_again(seller, pair):
    van, rider = pair
    late = Late(-1)
    kept = work_out(read_record(van), read_record(rider), late, sheet=True)
    assert kept.in_time == (not late.was)
    Fitted.objects.update(in_time=False)
    text = seller.get(f"/fits/{van}/{rider}/").content.decode()
    assert "time allowed ran out" in text
    assert "Work it out" in text


def test_the_search_hears_its_time_and_a_wish_to_stop():
    said = []
    late = Late(600, lambda: said.append(1))
    assert late() is False
    assert Late(-1)() is True
    assert said == [1]


def test_a_rider_is_matched_with_the_lot_and_it_is_sorted(seller, pair):
    van, rider = pair
    other = van_named("wren")
    van_named("heron", stage="sold")
    half = create_record("van", Content({"kind": "van", "stock_number": "N-9"},
                                        {"stage": "arriving"}), ANA).record  # fmt: skip
    assert [row.pk for row in lot()].count(half) == 1
    page = seller.get(f"/match/rider/{rider}/")
    assert page.context["todo"] == 2
    assert page.context["all"] == 3
    seller.post(f"/match/rider/{rider}/begin/")
    assert run_next("test")
    job = Job.objects.latest("pk")
    assert (job.state, job.result) == (
        "done", {"pairs": 3, "worked_out": 2, "not_whole": 1},
    )  # fmt: skip
    assert NAME not in json.dumps([job.args, job.says, job.result])
    page = seller.get(f"/match/rider/{rider}/")
    found = page.context["lines"]
    assert {line.van for line in found if line.row} == {van, other}
    assert found[-1].van == half
    places = [VERDICTS.index(line.row["verdict"]) for line in found if line.row]
    assert places == sorted(places)
    text = page.content.decode()
    assert "Every pair that can be asked is answered" in text
    assert f"/fits/{van}/{rider}/" in text
    verdict = found[0].row["verdict"]
    narrowed = seller.get(f"/match/rider/{rider}/", {"verdict": verdict})
    assert {line.row["verdict"] for line in narrowed.context["lines"]} == {verdict}
    # Asked again, nothing is worked out twice.
    ask("match.rider", ANA, rider=rider)
    assert run_next("test")
    assert Job.objects.latest("pk").result["worked_out"] == 0


def test_a_van_is_matched_with_all_who_wait(seller, pair):
    van, rider = pair
    closed = create_record("rider", Content(demo("rider", 2), {"stage": "closed"}), ANA).record
    assert closed not in {row.pk for row in waiting()}
    seller.post(f"/match/van/{van}/begin/")
    assert run_next("test")
    page = seller.get(f"/match/van/{van}/")
    assert [line.rider for line in page.context["lines"]] == [rider]
    assert NAME in page.content.decode()
    # What the one desk worked out, the other shows.
    assert seller.get(f"/match/rider/{rider}/").context["todo"] == 0


def test_a_match_can_be_stopped_and_keeps_what_it_has(seller, pair):
    _van, rider = pair
    seller.post(f"/match/rider/{rider}/begin/")
    job = Job.objects.latest("pk")
    answer = seller.get(f"/match/rider/{rider}/", headers={"HX-Request": "true"})
    assert "Waiting for its turn" in answer.content.decode()
    assert seller.post(f"/match/stop/{job.pk}/").url == f"/match/rider/{rider}/"
    assert Job.objects.get(pk=job.pk).state == Job.State.CANCELLED
    assert "stopped before its end" in seller.get(f"/match/rider/{rider}/").content.decode()


def test_a_wish_to_stop_reaches_the_middle_of_a_pair(pair):
    from sillway.store.jobs import Cancelled

    number = ask("match.rider", ANA, rider=pair[1])
    Job.objects.filter(pk=number).update(state="running", runner="test", cancel_asked=True)
    handle = Handle(Job.objects.get(pk=number))
    with pytest.raises(Cancelled):
        work_out(read_record(pair[0]), read_record(pair[1]),
                 Late(600, lambda: handle.tell(0, 1, "")), sheet=False)  # fmt: skip
    assert not Fitted.objects.exists()


def test_a_deleted_person_s_answers_can_no_longer_be_read(seller, pair):
    van, rider = pair
    work_out(read_record(van), read_record(rider), Late(600), sheet=False)
    row = read_record(rider).row
    destroy_person(row.person, ANA)
    assert seller.get(f"/fits/{van}/{rider}/").status_code == 410
    assert seller.get(f"/match/rider/{rider}/").status_code == 410
    assert for_van(read_record(van).row, [row], keep.today()) == []
    assert for_rider(row, lot(), keep.today()) == []


def test_a_record_that_lacks_something_says_what(seller, pair):
    van, _rider = pair
    draft = create_record("rider", Content({"kind": "rider", "name": "Nelda"}), ANA).record
    text = seller.get(f"/fits/{van}/{draft}/").content.decode()
    assert "Not whole yet" in text
    seller.post(f"/fits/{van}/{draft}/begin/")
    seller.post(f"/match/rider/{draft}/begin/")
    assert not Job.objects.exists()
    assert "Not whole yet" in seller.get(f"/match/rider/{draft}/").content.decode()


def test_the_start_page_lists_and_finds(seller, pair):
    van, rider = pair
    text = seller.get("/match/").content.decode()
    assert f"/match/van/{van}/" in text
    assert f"/match/rider/{rider}/" in text
    text = seller.get("/match/", {"find": "Drury"}).content.decode()
    assert f"/match/rider/{rider}/" in text
    assert f"/match/van/{van}/" not in text


def test_the_sheet_s_style_and_script_are_static_files():
    for name in ("sheet/fit.css", "sheet/playback.js"):
        assert Path(finders.find(name)).is_file()
    assert finders.find("sheet/fit.typ") is None
    assert finders.find("sheet/content.py") is None
    assert settings.STATICFILES_FINDERS


@pytest.mark.parametrize("role", ["mechanic", "book-keeper", "viewer"])
def test_pairs_are_not_for_every_role(signed_in, pair, role):
    van, rider = pair
    client = signed_in(role, "Max")
    for url in ("/match/", f"/match/rider/{rider}/", f"/match/van/{van}/", f"/fits/{van}/{rider}/",
                f"/fits/{van}/{rider}/sheet.pdf"):  # fmt: skip
        answer = client.get(url)
        assert answer.status_code == 403, url
        assert NAME not in answer.content.decode()
    for url in (f"/match/rider/{rider}/begin/", f"/match/van/{van}/begin/",
                f"/fits/{van}/{rider}/begin/"):  # fmt: skip
        assert client.post(url).status_code == 403, url
    assert not Job.objects.exists()


def test_strangers_bad_numbers_and_wrong_verbs(seller, pair, signed_in):
    van, rider = pair
    for url in ("/match/", f"/match/rider/{rider}/", f"/fits/{van}/{rider}/"):
        assert Client().get(url).url.startswith("/accounts/sign-in/")
    for url in (f"/match/rider/{van}/", f"/match/van/{rider}/", f"/fits/{rider}/{van}/",
                f"/fits/{van}/4711/", "/match/van/4711/"):  # fmt: skip
        assert seller.get(url).status_code == 404, url
        assert seller.post(f"{url}begin/").status_code == 404, url
    assert seller.get(f"/match/rider/{rider}/begin/").status_code == 405
    assert seller.get(f"/fits/{van}/{rider}/begin/").status_code == 405
    assert seller.post(f"/match/rider/{rider}/").status_code == 405
    assert seller.post("/match/stop/4711/").status_code == 404
    number = ask("match.rider", By("Olga", "page", 4711), rider=rider)
    assert seller.post(f"/match/stop/{number}/").status_code == 404
    mine = ask("fit.pair", By("Sue", "page", seller.account.pk), van=van, rider=rider)
    assert seller.post(f"/match/stop/{mine}/").status_code == 404
