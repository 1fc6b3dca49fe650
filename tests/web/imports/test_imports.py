"""Bringing in a sheet: look, all or nothing, again without harm; riders stay sealed."""

import csv
import io
import os
import time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from sillway.records.flat import flat
from sillway.records.van import Van
from sillway.store.by import By
from sillway.store.folder import data_folder
from sillway.store.jobs import ask, ask_cancel, run_next
from sillway.store.limits import limit
from sillway.store.models import Job, Record, Revision, Term
from sillway.store.pack import Content
from sillway.store.records import chain_holds, create_record, read_record, save_record
from sillway.web.imports import shelf
from sillway.web.policy import Role
from workbench_help import demo

ANA = By("Ana", "page")
VANS = (
    "Stock #,Year,Make,Model,Miles,Door height,door.height.way,Status,Extra\n"
    "A-1,2016,Brundell,Avocet,\"69,133 mi\",56 in,tape,for sale,x\n"
    "B-2,2018,Hollin,Wren,,55 1/2,,,y\n"
)  # fmt: skip


@pytest.fixture(autouse=True)
def _empty_shelf():
    for token in shelf.tokens():
        shelf.drop(token)


def send(client, text, kind="van", units="inch-pound", name="lot.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    file = SimpleUploadedFile(name, data)
    return client.post("/imports/", {"kind": kind, "units": units, "file": file})


def looked(client, text, kind="van", units="inch-pound", **changed):
    """Send a sheet, take the columns as suggested, look it over; answers address and page."""
    url = send(client, text, kind, units).url
    page = client.get(url)
    chosen = {f"column-{n}": path for n, (_name, path, _s) in enumerate(page.context["columns"])}
    answer = client.post(url, {**chosen, **changed})
    assert answer.url == f"{url}rows/"
    while run_next("test"):
        pass
    return url, client.get(answer.url)


def bring(client, url):
    answer = client.post(f"{url}apply/")
    while run_next("test"):
        pass
    return Job.objects.get(pk=int(answer.url.strip("/").split("/")[1]))


def does(page):
    return [(one["row"], one["does"]) for one in page.context["lines"]]


def test_a_lot_is_looked_over_and_brought_in(owner):
    url, page = looked(owner, VANS)
    assert does(page) == [(2, "new"), (3, "new")]
    assert "not whole yet" in page.content.decode()
    assert Record.objects.count() == 0
    job = bring(owner, url)
    assert (job.state, job.result) == (
        "done", {"new": 2, "changes": 0, "same": 0, "error": 0},
    )  # fmt: skip
    rows = {row.title: row for row in Record.objects.all()}
    one = read_record(rows["2016 Brundell Avocet, A-1"].pk)
    assert one.content.doc == {
        "kind": "van", "units": "inch-pound", "stock_number": "A-1", "year": 2016,
        "make": "Brundell", "model": "Avocet", "odometer": "69,133 mi",
        "door": {"height": {"value": "56 in", "way": "tape"}},
    }  # fmt: skip
    assert one.content.card["stage"] == "for sale"
    assert one.revision.origin == "job"
    assert one.content.note == "from row 2 of a sheet"
    assert all(chain_holds(row) for row in rows.values())
    assert shelf.tokens() == []
    assert owner.get("/find/", {"q": "door over 55 1/2 in"}).content.decode().count("/vans/") == 1


def test_the_same_sheet_again_changes_nothing_and_a_changed_one_only_what_is_new(owner):
    bring(owner, looked(owner, VANS)[0])
    url, page = looked(owner, VANS)
    assert does(page) == [(2, "same"), (3, "same")]
    bring(owner, url)
    assert Revision.objects.count() == 2
    url, page = looked(owner, VANS.replace("56 in", "57 in").replace("Wren", "Wren"))
    assert does(page) == [(2, "changes"), (3, "same")]
    assert page.context["lines"][0]["fields"] == ["door.height"]
    bring(owner, url)
    row = Record.objects.get(title__contains="A-1")
    assert (row.version, Revision.objects.count()) == (2, 3)
    assert read_record(row.pk).content.card["stage"] == "for sale"


def test_begun_twice_a_sheet_is_brought_in_once(owner):
    url, _page = looked(owner, VANS)
    token = url.strip("/").split("/")[1]
    sent = shelf.get(token)
    bring(owner, url)
    # As after a crash between the commit and the end of the job.
    shelf.put(sent, token)
    number = ask("imports.apply", By("o", "page", owner.account.pk), token=token)
    run_next("test")
    assert Job.objects.get(pk=number).state == "done"
    assert (Record.objects.count(), Revision.objects.count()) == (2, 2)


def test_one_wrong_row_and_nothing_is_brought_in(owner):
    text = VANS + "C-3,2018,Hollin,Wren,,34 furlongs,,,\nA-1,,,,,,,,\n,2019,,,,,,,\nD-4,x,,,,,,,\n"
    url, page = looked(owner, text)
    assert [one["does"] for one in page.context["lines"]] == ["new", "new", *["error"] * 4]
    wrong = [tuple(one["wrong"][:2]) for one in page.context["lines"][2:]]
    assert wrong == [
        ("Door height (door.height)", "34 furlongs"),
        ("Stock # (stock_number)", "A-1"),
        ("Stock # (stock_number)", ""),
        ("Year (year)", "x"),
    ]
    shown = page.content.decode()
    assert "34 furlongs" in shown
    assert "a length such as" in shown
    assert "row 2 is it already" in shown
    assert "Bring in" not in shown.split("<h1>")[1].split("</form>")[0]
    assert owner.post(f"{url}apply/").url == f"{url}rows/"
    assert Record.objects.count() == 0
    only = owner.get(f"{url}rows/", {"only": "error"})
    assert len(only.context["lines"]) == 4


@pytest.mark.parametrize("cell", ["=1+1", "@SUM(A1)", "=HYPERLINK(1)"])
def test_a_formula_is_refused_in_its_row(owner, cell):
    _url, page = looked(owner, f"Stock #,Make\nA-1,{cell}\n")
    assert page.context["lines"][0]["wrong"] == [
        "Make (make)",
        cell,
        page.context["lines"][0]["wrong"][2],
    ]
    assert "not a formula" in page.content.decode()


def test_what_somebody_changed_meanwhile_is_not_overwritten(owner):
    bring(owner, looked(owner, VANS)[0])
    url, _page = looked(owner, VANS.replace("56 in", "57 in"))
    row = Record.objects.get(title__contains="A-1")
    read = read_record(row.pk)
    doc = {**read.content.doc, "model": "Plover"}
    save_record(row.pk, Content(doc, read.content.card), ANA, base=1)
    job = bring(owner, url)
    # Looked over again at the last moment: both changes stand.
    assert job.state == "done"
    now = read_record(row.pk).content.doc
    assert (now["model"], now["door"]["height"]["value"]) == ("Avocet", "57 in")
    assert read_record(row.pk).row.version == 3


def test_a_fault_in_the_middle_keeps_nothing_and_no_key(owner, monkeypatch):
    from sillway.store import bulk

    text = "Name,Phone\nLena Hart,555 010 7788\nMo Reyes,555 010 7799\n"
    url, _page = looked(owner, text, "rider")
    before = sorted(data_folder().ring.glob("*/*.key"))
    count = iter(range(10))

    def fails(*args):
        if next(count) == 1:
            raise RuntimeError("the disk is full")
        return whole(*args)

    whole = bulk.pack
    monkeypatch.setattr(bulk, "pack", fails)
    job = bring(owner, url)
    assert job.state == "failed"
    assert (Record.objects.count(), Revision.objects.count(), Term.objects.count()) == (0, 0, 0)
    assert sorted(data_folder().ring.glob("*/*.key")) == before
    assert "Lena" not in str(job.says) + str(job.result) + str(job.args)


def test_riders_are_sealed_found_by_name_and_phone_and_nothing_readable_is_left(owner):
    text = ("Name,Phone,Chair type,Weight\nLena Quillfeather,(555) 010-7788,manual,172 lb\n"
            "Lena Quillfeather,555-010-7799,scooter,\n")  # fmt: skip
    url, page = looked(owner, text, "rider")
    assert does(page) == [(2, "new"), (3, "new")]
    token = url.strip("/").split("/")[1]
    assert b"Quillfeather" not in (data_folder().root / "imports" / f"{token}.sealed").read_bytes()
    job = bring(owner, url)
    assert job.state == "done"
    assert Record.objects.filter(kind="rider", title="").count() == 2
    assert "Quillfeather" not in str(list(Job.objects.values()))
    _url, page = looked(owner, text.replace("172", "173"), "rider")
    assert does(page) == [(2, "changes"), (3, "same")]
    _url, page = looked(owner, "Name,Weight\nLena Quillfeather,150 lb\n", "rider")
    assert page.context["lines"][0]["wrong"][2].startswith("their phone number too")


def test_what_a_row_is_silent_of_stays_and_lists_are_joined_by_their_count(owner):
    doc = demo("van")
    number = create_record("van", Content(doc, {"spot": "row 3"}), ANA).record
    text = f"Stock #,seats.2.mass,ramp.rise,door.height\n{doc['stock_number']},60 lb,9.5,\n"
    url, page = looked(owner, text)
    assert page.context["lines"][0]["fields"] == ["seats[front passenger].mass"]
    bring(owner, url)
    after = read_record(number).content
    doc["seats"][1]["mass"] = "60 lb"
    assert after.doc == doc
    assert after.card["spot"] == "row 3"


def test_a_wrong_stage_or_day_of_the_card_is_a_wrong_row(owner):
    _url, page = looked(owner, "Stock #,Status,Date in\nA-1,lost,\nB-2,,soon\n")
    assert [one["wrong"][:2] for one in page.context["lines"]] == [
        ["Status (card.stage)", "lost"],
        ["Date in (card.came_on)", "soon"],
    ]


def test_entries_of_a_list_are_counted_without_a_gap(owner):
    _url, page = looked(owner, "Stock #,seats.1.id,seats.3.id\nA-1,driver,third\n")
    assert page.context["lines"][0]["wrong"][:2] == ["seats", "3"]


def test_a_whole_van_as_columns_is_the_same_van(owner):
    doc = demo("van")
    create_record("van", Content(doc), ANA)
    columns = {key: value for key, value in flat(doc, Van).items() if key not in ("kind", "units")}
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerow(columns.values())
    _url, page = looked(owner, out.getvalue())
    assert does(page) == [(2, "same")]


def test_bare_numbers_are_not_taken_for_other_units_than_the_record_s(owner):
    create_record("van", Content({"kind": "van", "units": "metric", "stock_number": "A-1"}), ANA)
    _url, page = looked(owner, "Stock #,Door height\nA-1,56\n")
    assert "kept in metric" in page.content.decode()
    _url, page = looked(owner, "Stock #,Door height\nA-1,56 in\n")
    assert does(page) == [(2, "changes")]


def test_a_sheet_does_not_stay(owner):
    url = send(owner, VANS).url
    (path,) = (data_folder().root / "imports").glob("*.sealed")
    old = time.time() - limit("import.kept") - 60
    os.utime(path, (old, old))
    assert owner.get(url).status_code == 404
    assert not path.exists()


def test_a_sheet_can_be_forgotten_and_the_work_stopped(owner):
    url = send(owner, VANS).url
    owner.post(url, {"column-0": "stock_number"})
    job = Job.objects.get()
    ask_cancel(job.pk, ANA)
    text = owner.get(f"{url}rows/").content.decode()
    assert "Cancelled" in text
    assert owner.post(f"{url}drop/").status_code == 302
    assert owner.get(url).status_code == 404


def test_while_it_runs_htmx_is_told_and_then_the_page_is_loaded_anew(owner):
    url = send(owner, VANS).url
    owner.post(url, {"column-0": "stock_number"})
    asked = owner.get(f"{url}rows/", headers={"HX-Request": "true"})
    assert "Waiting" in asked.content.decode()
    run_next("test")
    asked = owner.get(f"{url}rows/", headers={"HX-Request": "true"})
    assert asked["HX-Refresh"] == "true"


@pytest.mark.parametrize(
    ("data", "says"),
    [(b"", "file is empty"), (b"a,b\n", "no row below a header"), (b"a,b\n1,\xe9\n", "UTF-8"),
     (b"PK\x03\x04zzz", "damaged workbook")],
)  # fmt: skip
def test_a_hostile_file_is_one_sentence_at_its_field(owner, data, says):
    answer = send(owner, data)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert says in text
    assert 'href="#id_file"' in text
    assert shelf.tokens() == []


def test_columns_that_will_not_do_are_told_and_kept(owner):
    url = send(owner, VANS).url
    answer = owner.post(url, {"column-0": "stock_number", "column-1": "colour"})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "column Year" in text
    assert 'value="colour"' in text


def test_an_empty_sheet_to_fill(owner):
    text = owner.get("/imports/heading/van.csv").content.decode()
    assert text.startswith("card.stage,card.came_on,")
    assert ",door.width," in text
    assert owner.get("/imports/heading/offer.csv").status_code == 404


@pytest.mark.parametrize("role", [Role.SELLER, Role.MECHANIC, Role.BOOKKEEPER, Role.VIEWER])
def test_only_the_owner_brings_in(role, owner, signed_in):
    url = send(owner, VANS).url
    client = signed_in(role)
    assert send(client, VANS).status_code == 403
    for page in ("/imports/", url, f"{url}rows/", "/imports/heading/van.csv"):
        assert client.get(page).status_code == 403, page
    for post in (f"{url}apply/", f"{url}drop/", url):
        assert client.post(post).status_code == 403, post
    assert Client().get(url).url.startswith("/accounts/sign-in/")


def test_ladder(owner):
    url = send(owner, VANS).url
    for bad in ("/imports/4711/", f"/imports/{'0' * 32}/", f"/imports/{'0' * 32}/rows/"):
        assert owner.get(bad).status_code == 404, bad
    for post in (f"{url}apply/", f"{url}drop/"):
        assert owner.get(post).status_code == 405
        assert owner.post(post.replace(url, f"/imports/{'f' * 32}/")).status_code == 404
    assert owner.get(f"{url}rows/").url == url
    assert owner.post(f"{url}rows/").status_code == 405
