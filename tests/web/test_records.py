"""Pages of vans and riders: reading, editing, merging, undoing, photos."""

import io

import pytest
from PIL import Image

from sillway.store.models import PhotoUse, Record
from sillway.store.records import read_record
from workbench_help import demo


def form(client, url):
    """The form of a page, filled in as it is shown."""
    shown = client.get(url).context["form"]
    return {name: shown.initial.get(name, "") or "" for name in shown.fields}


def test_the_lot_lists_finds_and_narrows(owner, van):
    stock = demo("van")["stock_number"]
    assert stock in owner.get("/").content.decode()
    assert stock in owner.get("/", {"find": stock}).content.decode()
    assert stock not in owner.get("/", {"find": "nothing"}).content.decode()
    assert stock in owner.get("/", {"stage": "checking"}).content.decode()
    assert stock not in owner.get("/", {"stage": "held"}).content.decode()


def test_with_htmx_only_the_list_comes(owner, van):
    text = owner.get("/", headers={"HX-Request": "true"}).content.decode()
    assert "<table" in text
    assert "<html" not in text


def test_a_van_s_page_shows_what_was_written_and_metric(owner, van):
    text = owner.get(f"/vans/{van}/").content.decode()
    assert demo("van")["door"]["width"] in text.replace("&quot;", '"')
    assert " mm</td>" in text


def test_a_field_is_changed_and_the_rest_stays_as_it_was(owner, van):
    url = f"/vans/{van}/edit/ramp/"
    data = {
        **form(owner, url),
        "width_at_foot": "",
        "ramp.rise": "11 1/2 in",
        "why": "measured anew",
    }
    assert owner.post(url, data).status_code == 302
    read = read_record(van)
    before = demo("van")
    assert read.content.doc.pop("ramp") == {
        **before.pop("ramp"),
        "rise": _like(demo("van"), "11 1/2 in"),
    }
    assert read.content.doc == before
    assert (read.content.note, read.revision.by_name) == ("measured anew", "the owner")


def _like(doc, value):
    """The new value with the way the old one was measured, if it said one."""
    old = doc["ramp"]["rise"]
    return {**old, "value": value} if isinstance(old, dict) else value


@pytest.mark.parametrize(
    "part", ["identity", "ramp", "door", "ratings", "cabin", "outside", "card"]
)
def test_keeping_an_untouched_form_changes_nothing(owner, van, part):
    url = f"/vans/{van}/edit/{part}/"
    assert owner.post(url, form(owner, url)).status_code == 302
    assert read_record(van).row.version == 1


def test_what_will_not_do_is_named_at_its_field_and_on_top(owner, van):
    url = f"/vans/{van}/edit/ramp/"
    answer = owner.post(url, {**form(owner, url), "ramp.rise": "34 furlongs"})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'href="#id_ramp.rise"' in text
    assert 'id="id_ramp.rise_error"' in text
    assert 'aria-invalid="true"' in text
    assert "34 furlongs" in text
    assert text.index("<title>Error:") < 1000
    assert read_record(van).row.version == 1


def test_two_people_on_different_fields_are_joined(owner, signed_in, van):
    url = f"/vans/{van}/edit/ramp/"
    mine, theirs = form(owner, url), form(owner, url)
    signed_in("mechanic").post(url, {**theirs, "ramp.rise": "13 in"})
    answer = owner.post(url, {**mine, "ramp.edge_height": "2 1/2 in"}, follow=True)
    assert "together with what somebody else changed" in answer.content.decode()
    ramp = read_record(van).content.doc["ramp"]
    assert "13 in" in str(ramp["rise"])
    assert "2 1/2 in" in str(ramp["edge_height"])


@pytest.mark.parametrize(("side", "holds"), [("mine", "12 in"), ("theirs", "13 in")])
def test_two_people_on_one_field_get_the_page_to_merge(owner, signed_in, van, side, holds):
    url = f"/vans/{van}/edit/ramp/"
    mine = {**form(owner, url), "ramp.rise": "12 in", "ramp.edge_height": "2 1/2 in"}
    signed_in("mechanic", "Max").post(url, {**form(owner, url), "ramp.rise": "13 in"})
    answer = owner.post(url, mine)
    assert answer.status_code == 409
    text = answer.content.decode()
    assert "12 in" in text
    assert "13 in" in text
    assert "Max saved revision 2" in text
    assert read_record(van).row.version == 2
    kept = dict(answer.context["kept"])
    owner.post(url, {**kept, "against": "2", "choice:doc.ramp.rise": side})
    ramp = read_record(van).content.doc["ramp"]
    assert holds in str(ramp["rise"])
    assert "2 1/2 in" in str(ramp["edge_height"])


def test_history_shows_each_change_and_undo_brings_back(owner, van):
    url = f"/vans/{van}/edit/ramp/"
    owner.post(url, {**form(owner, url), "ramp.rise": "14 in"})
    text = owner.get(f"/vans/{van}/history/").content.decode()
    assert "ramp.rise" in text
    assert "14 in" in text
    assert "Go back to revision 1" in text
    owner.post(f"/vans/{van}/undo/1/", {"base": 2})
    read = read_record(van)
    assert (read.row.version, read.content.doc, read.revision.undo_of) == (3, demo("van"), 1)
    old = owner.get(f"/vans/{van}/?revision=2").content.decode()
    assert "14 in" in old
    assert "how it stood at revision 2" in old


def test_a_van_and_a_rider_begin_with_little(owner):
    data = {"stock_number": "N-1", "year": "2021", "make": "Osk", "model": "Wren"}
    url = owner.post("/vans/new/", data).url
    assert "Not whole yet" in owner.get(url).content.decode()
    url = owner.post("/riders/new/", {"name": "Zeb Quill", "phone": "555 010 9944",
                                      "language": "es"}).url  # fmt: skip
    assert "Zeb Quill" in owner.get(url).content.decode()
    assert "Zeb Quill" in owner.get("/riders/", {"find": "9944"}).content.decode()
    bad = owner.post("/vans/new/", {**data, "year": "1909"})
    assert bad.status_code == 200
    assert "1909" in bad.content.decode()


def test_deleting_a_person_asks_for_the_name(owner, rider):
    url = f"/riders/{rider}/delete/"
    owner.post(url, {"name": "somebody"})
    assert Record.objects.get(pk=rider).gone_at is None
    owner.post(url, {"name": demo("rider")["name"]})
    assert Record.objects.get(pk=rider).gone_at
    assert demo("rider")["name"] not in owner.get("/riders/").content.decode()


def photo(name="yard.jpg", content=None):
    out = io.BytesIO()
    Image.new("RGB", (400, 300), "navy").save(out, "JPEG")
    out.seek(0)
    out = io.BytesIO(content) if content is not None else out
    out.name = name
    return out


def test_photos_are_taken_in_shown_and_taken_away(owner, van):
    answer = owner.post(f"/vans/{van}/photos/", {"photo": [photo()]}, follow=True)
    assert "Photos kept: 1" in answer.content.decode()
    number = PhotoUse.objects.get().pk
    for url in (f"/photos/{number}.jpg", f"/photos/{number}.thumb.jpg"):
        answer = owner.get(url)
        assert (answer["Content-Type"], answer.content[:2]) == ("image/jpeg", b"\xff\xd8")
    owner.post(f"/photos/{number}/hide/")
    assert f"/photos/{number}.jpg" not in owner.get(f"/vans/{van}/").content.decode()


def test_a_file_that_is_no_picture_is_named_and_the_others_are_kept(owner, van):
    files = [photo("notes.txt", b"no picture"), photo()]
    answer = owner.post(f"/vans/{van}/photos/", {"photo": files}, follow=True)
    text = answer.content.decode()
    assert "notes.txt" in text
    assert "Photos kept: 1" in text


def test_the_same_entry_sent_twice_is_one_photo(owner, van):
    entry = "5d1e0c1e-7e0b-4d0e-9c55-0a5f3c1b2d3e"
    for _count in range(2):
        owner.post(f"/vans/{van}/photos/", {"photo": [photo()], "entry": entry})
    assert PhotoUse.objects.count() == 1


def test_a_rider_s_photo_may_not_be_kept_by_the_browser(owner, rider):
    owner.post(f"/riders/{rider}/photos/", {"photo": [photo()]})
    answer = owner.get(f"/photos/{PhotoUse.objects.get().pk}.jpg")
    assert answer["Cache-Control"] == "no-store"


def test_too_many_changes_in_an_hour_are_refused(owner, van):
    from sillway.store.limits import limit
    from sillway.store.models import Rate

    owner.post(f"/vans/{van}/photos/")
    Rate.objects.filter(key__startswith="write").update(count=limit("rate.write"))
    assert owner.post(f"/vans/{van}/photos/").status_code == 429
