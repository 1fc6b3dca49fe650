"""Links by which a stranger measures a chair: what they open, what they do not, what is taken."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.urls import URLPattern, get_resolver

from sillway.rules.load import number
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.pack import Content
from sillway.store.persons import destroy_person
from sillway.store.records import create_record, read_record, save_record
from sillway.web.access import act_of
from sillway.web.policy import ANYONE, Role
from sillway.web.share import links, proposals
from sillway.web.share.models import Proposal, ShareLink

ANA = By("Ana", "page")
SECRET = re.compile(r"/share/with/([\w-]+)/")


@pytest.fixture
def caller(db):
    """A rider of whom the call gave the name and a length."""
    chair = {"length": {"value": "49 in", "way": "reported"}}
    doc = {"kind": "rider", "name": "Wilhelmina Osterhaus", "chair": chair}
    return create_record("rider", Content(doc, {"phone": "555-0188"}), ANA).record


@pytest.fixture
def link(owner, caller):
    """A link made by the owner: its address."""
    page = owner.post(f"/share/rider/{caller}/", {"language": "en"}).content.decode()
    return f"/share/with/{SECRET.search(page)[1]}/"


def knees(**more):
    given = {"bottom": "12", "top": "27 1/2", "back": "5", "front": "39", "width": "25", **more}
    return {f"chair.layers.{name}": value for name, value in given.items()} | {"way": "tape"}


def test_a_secret_has_at_least_128_bits_and_is_kept_nowhere(owner, caller, link):
    secret = SECRET.search(link)[1]
    assert links.SECRET_BYTES * 8 >= 128
    assert len(secret) * 6 >= 128
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM share_sharelink")
        assert secret not in str(cursor.fetchall())
    # It is shown once.
    assert secret not in owner.get(f"/share/rider/{caller}/").content.decode()
    # The address never leaves by a header, and no search engine lists it.
    answer = Client().get(link)
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert "noindex" in answer.headers["X-Robots-Tag"]
    assert answer.headers["Cache-Control"] == "no-store"


def test_a_stranger_measures_sends_in_and_a_seller_takes_it(owner, caller, link):
    guest = Client()
    assert guest.get(link).status_code == 200
    assert guest.post(f"{link}slice-knees/", knees()).status_code == 302
    assert guest.post(f"{link}chair-length/", {"chair.length": "48 1/2"}).status_code == 302
    guest.post(f"{link}pin/", {"cannot": "yes", "reason": "not there"})
    before = read_record(caller)
    assert before.revision.number == 1
    # Nothing waits at the lot before it is sent.
    assert "Nothing waits" in owner.get("/share/").content.decode()
    assert guest.post(f"{link}review/", {"who": "her daughter Ilse"}).status_code == 302
    assert "Sent in" in guest.get(f"{link}review/").content.decode()
    assert "her daughter Ilse" in owner.get("/share/").content.decode()

    one = Proposal.objects.get()
    page = owner.get(f"/share/proposal/{one.pk}/").content.decode()
    # The merge: what the record says beside what was sent in.
    assert "49 in" in page
    assert "48 1/2 in" in page
    assert read_record(caller).revision.number == 1
    choice = {"take:slice-knees": "take", "take:chair-length": "take", "base": 1}
    assert owner.post(f"/share/proposal/{one.pk}/", choice).status_code == 302
    after = read_record(caller)
    chair = after.content.doc["chair"]
    assert chair["length"] == {"value": "48 1/2 in", "way": "tape"}
    assert chair["layers"][0]["front"] == {"value": "39 in", "way": "tape"}
    assert after.content.card["not_measured"] == {"pin": "not there"}
    assert after.content.note == "sent in by her daughter Ilse"
    assert (after.revision.number, after.revision.origin) == (2, "link")
    # Once decided it is decided.
    owner.post(f"/share/proposal/{one.pk}/", choice)
    assert read_record(caller).revision.number == 2


def test_what_is_left_is_left(owner, caller, link):
    guest = Client()
    guest.post(f"{link}slice-knees/", knees())
    guest.post(f"{link}chair-length/", {"chair.length": "48"})
    guest.post(f"{link}review/", {"who": ""})
    one = Proposal.objects.get()
    half = {"take:slice-knees": "take", "base": 1}
    assert owner.post(f"/share/proposal/{one.pk}/", half).status_code == 409
    owner.post(f"/share/proposal/{one.pk}/", {**half, "take:chair-length": "leave"})
    chair = read_record(caller).content.doc["chair"]
    assert chair["length"]["value"] == "49 in"
    assert chair["layers"][0]["name"] == "knees"


def test_declined_nothing_changes(owner, caller, link):
    guest = Client()
    guest.post(f"{link}slice-knees/", knees())
    guest.post(f"{link}review/", {})
    one = Proposal.objects.get()
    owner.post(f"/share/proposal/{one.pk}/", {"decline": "yes"})
    assert Proposal.objects.get().state == Proposal.State.DECLINED
    assert read_record(caller).revision.number == 1


def test_changed_at_the_lot_meanwhile_nothing_is_lost(owner, caller, link):
    guest = Client()
    guest.post(f"{link}chair-length/", {"chair.length": "48"})
    guest.post(f"{link}review/", {})
    one = Proposal.objects.get()
    doc = read_record(caller).content.doc
    new = {**doc, "chair": {"length": {"value": "50 in", "way": "tape"}}}
    save_record(caller, Content(new, read_record(caller).content.card), ANA, base=1)
    answer = owner.post(f"/share/proposal/{one.pk}/", {"take:chair-length": "take", "base": 1})
    assert answer.status_code == 409
    assert Proposal.objects.get().state == Proposal.State.SENT
    assert "50 in" in answer.content.decode()
    owner.post(f"/share/proposal/{one.pk}/", {"take:chair-length": "take", "base": 2})
    assert read_record(caller).content.doc["chair"]["length"]["value"] == "48 in"


def test_a_guest_sees_only_what_the_guest_entered(owner, caller, link):
    guest = Client()
    guest.post(f"{link}slice-knees/", knees())
    for page in ("", "review/", "chair-length/", "slice-knees/", "masses/"):
        text = guest.get(f"{link}{page}").content.decode()
        for known in ("Wilhelmina", "Osterhaus", "49 in", "555-0188"):
            assert known not in text, page
    # Another link for the same rider begins empty.
    page = owner.post(f"/share/rider/{caller}/", {"language": "en"}).content.decode()
    other = f"/share/with/{SECRET.search(page)[1]}/"
    assert "27 1/2" not in guest.get(f"{other}slice-knees/").content.decode()


def _patterns(found, prefix=""):
    for one in found:
        route = prefix + str(one.pattern)
        if isinstance(one, URLPattern):
            yield route, one.callback
        else:
            yield from _patterns(one.url_patterns, route)


def test_nothing_else_opens_with_a_link(owner, caller, van, link):
    """Every address there is, asked for by the guest: only those open that are open to all."""
    guest = Client()
    secret = SECRET.search(link)[1]
    guest.get(link)
    tried = 0
    for route, view in _patterns(get_resolver().url_patterns):
        if act_of(view) == ANYONE:
            continue
        for number_ in (caller, van):
            url = "/" + re.sub(r"<int:\w+>", str(number_), route)
            url = re.sub(r"<slug:\w+>", "identity", url)
            url = re.sub(r"<(?:str:)?\w+>", secret, url)
            for ask in (guest.get, guest.post):
                answer = ask(url)
                assert answer.status_code == 302, url
                assert answer.url.startswith("/accounts/sign-in/"), url
            tried += 1
    assert tried > 40
    # Nor does the secret open what is open to all by a secret of its own.
    assert guest.get(f"/accounts/begin/{secret}/").status_code == 410
    assert read_record(caller).revision.number == 1
    assert "sillway" not in guest.cookies


def test_a_link_ends_when_it_is_ended_runs_out_or_never_was(owner, caller, link):
    guest = Client()
    guest.post(f"{link}slice-knees/", knees())
    one = ShareLink.objects.get()
    never = Client().get("/share/with/" + "A" * 43 + "/").content
    owner.post(f"/share/link/{one.pk}/end/")
    for page in ("", "slice-knees/", "review/"):
        answer = guest.get(f"{link}{page}")
        assert answer.status_code == 404
    assert guest.post(f"{link}slice-knees/", knees(top="30")).status_code == 404
    assert "ended" in owner.get(f"/share/rider/{caller}/").content.decode()
    ShareLink.objects.update(revoked_at=None, until=now() - timedelta(seconds=1))
    answer = guest.get(link)
    assert answer.status_code == 404
    says = b"This link does not hold, or holds no more"
    assert says in answer.content
    assert says in never


def test_a_link_holds_as_long_as_the_rule_says(caller, link):
    one = ShareLink.objects.get()
    holds = number("workbench.link.share", now().date())
    assert (one.until - one.made_at).total_seconds() == holds


def test_writing_by_a_link_and_guessing_links_are_limited(link):
    guest = Client()
    most = int(number("workbench.rate.share_miss", now().date()))
    answers = [guest.get(f"/share/with/{'B' * 40}{k}/").status_code for k in range(most + 1)]
    assert answers == [404] * most + [429]
    # Who has a true link is not kept out by that.
    assert guest.get(link).status_code == 200
    most = int(number("workbench.rate.share_write", now().date()))
    from sillway.web import limiter

    key = str(ShareLink.objects.get().pk)
    assert all(limiter.allow("share_write", key) for _k in range(most))
    assert guest.post(f"{link}slice-knees/", knees()).status_code == 429


def test_what_is_entered_is_sealed_and_goes_when_the_person_asks(owner, caller, link):
    guest = Client()
    guest.post(f"{link}slice-knees/", knees(front="39 7/8 in"))
    guest.post(f"{link}review/", {"who": "Ilse Marquardt"})
    body = bytes(Proposal.objects.get().body)
    assert b"39 7/8" not in body
    assert b"Marquardt" not in body
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT * FROM "{table}"')
            rows = str(cursor.fetchall())
            assert "Marquardt" not in rows, table
            assert "39 7/8" not in rows, table
    destroy_person(read_record(caller).row.person, ANA)
    assert guest.get(link).status_code == 404
    assert "Marquardt" not in owner.get("/share/").content.decode()
    assert owner.get(f"/share/proposal/{Proposal.objects.get().pk}/").status_code == 410


def test_sent_in_it_can_be_put_right_until_somebody_decides(owner, caller, link):
    guest = Client()
    guest.post(f"{link}chair-length/", {"chair.length": "48"})
    guest.post(f"{link}review/", {})
    # Sent is sent: a step changes nothing until it is taken back.
    guest.post(f"{link}chair-length/", {"chair.length": "60"})
    assert proposals.entered(Proposal.objects.get()).doc["chair"]["length"]["value"] == "48 in"
    guest.post(f"{link}again/")
    assert "Nothing waits" in owner.get("/share/").content.decode()
    assert owner.get(f"/share/proposal/{Proposal.objects.get().pk}/").status_code == 404
    guest.post(f"{link}chair-length/", {"chair.length": "47"})
    guest.post(f"{link}review/", {})
    assert proposals.entered(Proposal.objects.get()).doc["chair"]["length"]["value"] == "47 in"


def test_a_wrong_entry_is_told_and_nothing_is_lost(link):
    guest = Client()
    answer = guest.post(f"{link}slice-knees/", knees(front="long"))
    assert answer.status_code == 422
    assert 'value="27 1/2"' in answer.content.decode()
    assert Proposal.objects.count() == 0
    assert guest.get(f"{link}wings/").status_code == 404
    assert guest.put(f"{link}slice-knees/").status_code == 405


def test_the_pages_speak_the_language_of_the_link(owner, caller):
    page = owner.post(f"/share/rider/{caller}/", {"language": "es"}).content.decode()
    link = f"/share/with/{SECRET.search(page)[1]}/"
    guest = Client()
    assert '<html lang="es">' in guest.get(link).content.decode()
    assert "Franja: las rodillas" in guest.get(f"{link}slice-knees/").content.decode()


@pytest.mark.parametrize("url", ["/share/", "/share/rider/{}/"])
def test_only_sellers_make_links_and_decide(url, caller, signed_in):
    url = url.format(caller)
    assert Client().get(url).status_code == 302
    assert signed_in(Role.MECHANIC).get(url).status_code == 403
    assert signed_in(Role.BOOKKEEPER).get(url).status_code == 403
    assert signed_in(Role.SELLER).get(url).status_code == 200


def test_what_is_not_there(owner, van):
    for url in (f"/share/rider/{van}/", "/share/rider/999/", "/share/proposal/999/"):
        assert owner.get(url).status_code == 404, url
    assert owner.post("/share/link/999/end/").status_code == 404
    assert owner.get("/share/link/999/end/").status_code == 405
