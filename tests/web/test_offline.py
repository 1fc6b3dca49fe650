"""What a phone brings: once however often sent, refused in words, never under another name."""

import json
import uuid
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from sillway.store.by import By
from sillway.store.models import PhotoUse, Revision
from sillway.store.pack import Content
from sillway.store.records import create_record, read_record, save_record
from sillway.web.offline.kinds import KINDS
from sillway.web.offline.models import Entry
from sillway.web.policy import POLICY, Role

ANA = By("Ana", "page")
BACKEND = "sillway.web.accounts.backend.AccountBackend"

# One for ever, so that both test processes collect the same cases.
SOME_KEY = uuid.UUID("6f9b2f5e-6a52-4c0e-9d0b-0c8f6f1f7a11")


@pytest.fixture
def bare(db):
    """A van of which only the name is known."""
    doc = {"kind": "van", "stock_number": "N-9", "year": 2020, "make": "Orrin", "model": "Teal"}
    return create_record("van", Content(doc), ANA).record


def entry(client, record, key=None, **more):
    """One answer as a phone sends it."""
    payload = {"record": record, "step": "ramp-length", "base": 1,
               "form": {"ramp.length": "57 in", "way": "tape"}}  # fmt: skip
    payload.update(more.pop("payload", {}))
    return {"key": str(key or uuid.uuid4()), "kind": "van.measure",
            "account": client.account.pk, "payload": payload, **more}  # fmt: skip


def bring(client, one, file=None):
    data = {"entry": json.dumps(one)}
    if file:
        data["file"] = file
    return client.post("/offline/entries/", data)


def picture():
    out = BytesIO()
    Image.new("RGB", (40, 30), "navy").save(out, "JPEG")
    return SimpleUploadedFile("ramp.jpg", out.getvalue(), "image/jpeg")


def test_an_entry_takes_effect_once_and_is_answered_the_same_again(signed_in, bare):
    client = signed_in(Role.MECHANIC)
    one = entry(client, bare)
    first = bring(client, one)
    assert first.json() == {"state": "kept", "answer": {"record": bare, "revision": 2}}
    doc = read_record(bare).content.doc
    save_record(bare, Content({**doc, "note": "later"}), ANA, base=2)
    again = bring(client, one)
    assert again.json() == first.json()
    assert Revision.objects.filter(record=bare).count() == 3
    assert Revision.objects.get(record=bare, number=2).entry == uuid.UUID(one["key"])
    assert Revision.objects.get(record=bare, number=2).origin == "phone"


def test_the_effect_and_its_key_are_kept_together_or_not_at_all(signed_in, bare, monkeypatch):
    """A server that dies between the two has kept neither."""
    client = signed_in(Role.MECHANIC)

    def dies(**kept):
        raise RuntimeError("power cut")

    client.raise_request_exception = False
    one = entry(client, bare)
    with monkeypatch.context() as patch:
        patch.setattr(Entry.objects, "get_or_create", dies)
        assert bring(client, one).status_code == 500
    assert read_record(bare).revision.number == 1
    assert bring(client, one).json()["answer"]["revision"] == 2


def test_a_photo_goes_through_the_store_once(signed_in, bare, monkeypatch):
    client = signed_in(Role.MECHANIC)
    one = entry(client, bare, kind="van.photo", payload={"shows": "the ramp"})

    def dies(**kept):
        raise RuntimeError("power cut")

    client.raise_request_exception = False
    with monkeypatch.context() as patch:
        patch.setattr(Entry.objects, "get_or_create", dies)
        assert bring(client, one, picture()).status_code == 500
    assert bring(client, one, picture()).json()["state"] == "kept"
    use = PhotoUse.objects.get(record=bare)
    assert (use.shows, str(use.entry)) == ("the ramp", one["key"])


def test_what_is_no_picture_is_refused_in_words(signed_in, bare):
    client = signed_in(Role.MECHANIC)
    one = entry(client, bare, kind="van.photo")
    answer = bring(client, one, SimpleUploadedFile("x.jpg", b"<html>", "image/jpeg"))
    assert answer.status_code == 422
    assert "JPEG" in answer.json()["says"]
    assert bring(client, one).status_code == 422


def test_signed_out_is_said_and_not_sent_elsewhere(signed_in, bare):
    client = signed_in(Role.MECHANIC)
    one = entry(client, bare)
    answer = bring(Client(), one)
    assert (answer.status_code, answer.json()["state"]) == (401, "signed out")
    assert Client().get("/offline/state/").json() == {"signed_in": False}
    assert client.get("/offline/state/").json()["account"] == client.account.pk


def test_without_the_second_factor_one_is_not_signed_in(account, bare):
    one = account(Role.SELLER)
    client = Client()
    client.force_login(one, backend=BACKEND)
    client.account = one
    assert bring(client, entry(client, bare)).status_code == 401
    assert client.get("/offline/state/").json() == {"signed_in": False}


def test_nobody_brings_what_another_entered_or_may_not_do(signed_in, bare, rider):
    mechanic, keeper = signed_in(Role.MECHANIC), signed_in(Role.BOOKKEEPER)
    assert bring(keeper, entry(mechanic, bare)).json()["state"] == "not yours"
    refused = bring(keeper, entry(keeper, bare))
    assert (refused.status_code, refused.json()["state"]) == (422, "refused")
    assert bring(mechanic, entry(mechanic, rider)).status_code == 422
    assert Entry.objects.count() == 0


def test_one_key_stands_for_one_entry_of_one_person(signed_in, bare):
    mechanic, other = signed_in(Role.MECHANIC), signed_in(Role.MECHANIC, "Max")
    one = entry(mechanic, bare)
    bring(mechanic, one)
    changed = {**one, "payload": {**one["payload"], "form": {"ramp.length": "60 in"}}}
    assert bring(mechanic, changed).status_code == 422
    assert bring(other, {**one, "account": other.account.pk}).status_code == 422
    assert read_record(bare).content.doc["ramp"]["length"]["value"] == "57 in"


def test_a_second_answer_made_before_the_first_arrived_follows_it(signed_in, bare):
    """Both were made on a page that shows revision 1; the second is no clash with oneself."""
    client = signed_in(Role.MECHANIC)
    first = entry(client, bare)
    second = entry(client, bare, after=first["key"],
                   payload={"form": {"ramp.length": "57 1/2 in", "way": "tape"}})  # fmt: skip
    bring(client, first)
    assert bring(client, second).json()["answer"]["revision"] == 3
    assert read_record(bare).content.doc["ramp"]["length"]["value"] == "57 1/2 in"


def test_another_s_answer_meanwhile_is_a_clash_and_choosing_mine_holds(signed_in, bare):
    client = signed_in(Role.MECHANIC)
    doc = {**read_record(bare).content.doc, "ramp": {"length": {"value": "60 in", "way": "tape"}}}
    save_record(bare, Content(doc), ANA, base=1)
    answer = bring(client, entry(client, bare))
    said = answer.json()
    assert (answer.status_code, said["state"], said["newest"]) == (409, "clash", 2)
    assert "57 in" in said["says"]
    assert "60 in" in said["says"]
    assert bring(client, entry(client, bare, payload={"base": 2})).json()["state"] == "kept"


@pytest.mark.parametrize(
    "broken",
    [
        "",
        "[]",
        "{}",
        '{"key": "x", "kind": "van.measure", "account": 1, "payload": {}}',
        f'{{"key": "{SOME_KEY}", "kind": "no", "account": 1, "payload": {{}}}}',
        f'{{"key": "{SOME_KEY}", "kind": "van.measure", "account": 1, "payload": []}}',
        "[" * 5000,
    ],
)
def test_what_is_no_entry_is_refused(broken, signed_in):
    client = signed_in(Role.MECHANIC)
    answer = client.post("/offline/entries/", {"entry": broken})
    assert (answer.status_code, answer.json()["state"]) == (422, "refused")


@pytest.mark.parametrize(
    "payload",
    [{"record": "1"}, {"record": True}, {"step": "wings"}, {"form": None}, {"base": 99},
     {"base": None}, {"form": {"ramp.length": "long"}}],
)  # fmt: skip
def test_a_payload_that_will_not_do_changes_nothing(payload, signed_in, bare):
    client = signed_in(Role.MECHANIC)
    assert bring(client, entry(client, bare, payload=payload)).status_code == 422
    assert read_record(bare).revision.number == 1


def test_the_address_takes_entries_only(signed_in):
    assert signed_in(Role.MECHANIC).get("/offline/entries/").status_code == 405


def test_every_kind_of_entry_names_an_act_of_the_policy():
    assert KINDS
    assert all(one.act in POLICY for one in KINDS.values())


def test_the_worker_and_the_manifest(db):
    worker = Client().get("/sw.js")
    assert worker.headers["Service-Worker-Allowed"] == "/"
    assert worker.headers["Cache-Control"] == "no-cache"
    assert "javascript" in worker.headers["Content-Type"]
    manifest = Client().get("/manifest.webmanifest").json()
    assert manifest["start_url"] == "/measure/"
    assert {icon["sizes"] for icon in manifest["icons"]} == {"192x192", "512x512"}


def test_only_pages_without_persons_may_be_kept_on_a_phone(owner, van, rider):
    for url in ("/measure/", f"/measure/van/{van}/", f"/measure/van/{van}/ramp-length/",
                "/offline/", "/offline/away/"):  # fmt: skip
        assert owner.get(url).headers["Sillway-Keep"] == "yes", url
    for url in ("/", "/riders/", f"/riders/{rider}/", f"/measure/rider/{rider}/", "/share/"):
        assert "Sillway-Keep" not in owner.get(url).headers, url
