"""Taking everything out: whole, readable without us, and only what the role may take."""

import csv
import hashlib
import io
import json
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from sillway.records.read import van_from
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.costs import add_line
from sillway.store.jobs import run_next
from sillway.store.models import Photo, Trace
from sillway.store.pack import Content
from sillway.store.persons import destroy_person
from sillway.store.photos import add_photo, path_of
from sillway.store.records import create_record, read_record, save_record
from sillway.web.exports.archive import safe_cell
from sillway.web.policy import Role
from workbench_help import demo

ANA = By("Ana", "page")


def picture(colour="navy"):
    out = io.BytesIO()
    Image.new("RGB", (40, 30), colour).save(out, "JPEG")
    out.seek(0)
    return out


def taken(client):
    answer = client.post("/exports/archive/")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    pieces = list(answer.streaming_content)
    assert len(pieces) > 5
    return zipfile.ZipFile(io.BytesIO(b"".join(pieces)))


def loaded(archive, path):
    return json.loads(archive.read(path))


@pytest.fixture
def filled(van, rider):
    """A lot with a changed van with costs and a photo, and a rider with a photo."""
    doc = {**demo("van"), "note": "=cmd|' /C calc'!A0"}
    save_record(van, Content(doc, {"stage": "held"}, "looked at"), ANA, base=1)
    add_photo(van, picture(), ANA, shows="ramp")
    add_photo(rider, picture("red"), ANA)
    add_line(van, now().date(), "tires", 52_000, ANA)
    return van, rider


def test_the_archive_is_whole_and_the_manifest_names_every_file_by_its_hash(owner, filled):
    van, rider = filled
    archive = taken(owner)
    assert archive.testzip() is None
    manifest = loaded(archive, "manifest.json")
    names = set(archive.namelist()) - {"manifest.json"}
    assert {one["path"] for one in manifest["files"]} == names
    for one in manifest["files"]:
        data = archive.read(one["path"])
        assert (len(data), hashlib.sha256(data).hexdigest()) == (one["bytes"], one["sha256"])
    assert manifest["records"] == {
        "van": 1, "rider": 1, "inspection": 0, "costs": 1, "offer": 0, "sale": 0,
    }  # fmt: skip
    assert manifest["missing"] == []
    one = loaded(archive, f"records/van/{van:06d}.json")
    assert (one["revision"], one["doc"]["note"]) == (2, "=cmd|' /C calc'!A0")
    van_from(one["doc"])
    lines = archive.read(f"revisions/van/{van:06d}.jsonl").decode().splitlines()
    first, second = map(json.loads, lines)
    assert first["doc"] == demo("van")
    assert (second["by"], second["note"], second["card"]["stage"]) == ("Ana", "looked at", "held")
    assert (
        loaded(archive, f"records/rider/{rider:06d}.json")["doc"]["name"] == demo("rider")["name"]
    )
    assert Trace.objects.get(verb="export.made").by_name == "the owner"


def test_photos_are_in_it_by_hash_readable_and_told_whose(owner, filled):
    archive = taken(owner)
    uses = list(csv.DictReader(io.StringIO(archive.read("photos.csv").decode("utf-8-sig"))))
    assert [(one["kind"], one["shows"]) for one in uses] == [("van", "ramp"), ("rider", "")]
    for one in uses:
        data = archive.read(f"photos/{one['photo']}.jpg")
        assert Image.open(io.BytesIO(data)).size == (40, 30)
    assert (
        hashlib.sha256(archive.read(f"photos/{uses[0]['photo']}.jpg")).hexdigest()
        == (uses[0]["photo"])
    )


def test_its_sheets_can_be_brought_in_again_and_change_nothing(owner, filled):
    archive = taken(owner)
    for kind in ("van", "rider"):
        file = SimpleUploadedFile("x.csv", archive.read(f"sheets/{kind}s.csv"))
        sent = owner.post("/imports/", {"kind": kind, "units": "inch-pound", "file": file})
        page = owner.get(sent.url)
        chosen = {f"column-{n}": one[1] for n, one in enumerate(page.context["columns"])}
        rows = owner.post(sent.url, chosen).url
        while run_next("test"):
            pass
        assert [one["does"] for one in owner.get(rows).context["lines"]] == ["same"], kind


@pytest.mark.parametrize(
    ("cell", "kept"),
    [("=1+1", "'=1+1"), ("+cmd|x", "'+cmd|x"), ("@x", "'@x"), ("-2+3+cmd|' /C'!A0", None),
     ("-15.5", "-15.5"), ("-1/8 in", "-1/8 in"), ("x -3 to 4", "x -3 to 4"), ("", "")],
)  # fmt: skip
def test_no_cell_is_a_formula(cell, kept):
    assert safe_cell(cell) == (f"'{cell}" if kept is None else kept)


@pytest.mark.parametrize("role", [Role.SELLER, Role.MECHANIC, Role.BOOKKEEPER])
def test_people_and_money_are_only_for_the_owner(role, signed_in, filled):
    archive = taken(signed_in(role))
    assert {name.split("/")[1] for name in archive.namelist() if name.startswith("records/")} == {
        "van"
    }
    whole = b"".join(archive.read(name) for name in archive.namelist())
    assert demo("rider")["name"].encode() not in whole
    assert b"52000" not in whole
    assert len([name for name in archive.namelist() if name.endswith(".jpg")]) == 1
    page = signed_in(role, "again").get("/exports/").content.decode()
    assert "People and money are not in it" in page


def test_who_was_deleted_is_missing_by_number_only(owner, filled):
    _van, rider = filled
    destroy_person(read_record(rider).row.person, ANA)
    archive = taken(owner)
    manifest = loaded(archive, "manifest.json")
    assert {"record": f"rider {rider}", "why": "deleted on request"} in manifest["missing"]
    assert demo("rider")["name"].encode() not in b"".join(map(archive.read, archive.namelist()))


def test_a_lost_photo_is_told_and_the_rest_is_there(owner, filled):
    lost = Photo.objects.get(person="")
    path_of(lost).unlink()
    manifest = loaded(taken(owner), "manifest.json")
    assert manifest["missing"] == [{"photo": lost.digest, "why": "the file is lost"}]


def test_it_comes_in_pieces_and_nothing_is_read_before_it_is_sent(owner, db):
    for number in range(30):
        doc = {"kind": "van", "stock_number": f"S-{number}"}
        create_record("van", Content(doc), ANA)
    pieces = owner.post("/exports/archive/").streaming_content
    assert len(next(iter(pieces))) < 2000


def test_ladder(owner, signed_in):
    assert owner.get("/exports/").status_code == 200
    assert owner.get("/exports/archive/").status_code == 405
    assert owner.post("/exports/").status_code == 405
    assert Client().post("/exports/archive/").url.startswith("/accounts/sign-in/")
    viewer = signed_in(Role.VIEWER)
    assert viewer.get("/exports/").status_code == 403
    assert viewer.post("/exports/archive/").status_code == 403
