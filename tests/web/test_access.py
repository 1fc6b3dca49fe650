"""Every view, every role: in, sent to sign in, refused, not known."""

import io

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from PIL import Image

from sillway.store.by import By
from sillway.store.jobs import ask
from sillway.store.persons import destroy_person
from sillway.store.photos import add_photo
from sillway.store.records import read_record
from sillway.web.access import act_of
from sillway.web.policy import ANYONE, GUARDED, OWN, POLICY, Role, may, needs_second_factor
from workbench_help import demo

STAFF = [Role.OWNER, Role.SELLER, Role.MECHANIC, Role.BOOKKEEPER, Role.VIEWER]


def views(patterns=None, space=""):
    """Every view with its full name."""
    for one in patterns or get_resolver().url_patterns:
        if isinstance(one, URLResolver):
            inner = f"{space}{one.namespace}:" if one.namespace else space
            yield from views(one.url_patterns, inner)
        elif isinstance(one, URLPattern):
            yield f"{space}{one.name}", one.callback


def test_every_view_names_an_act_of_the_table():
    found = dict(views())
    assert len(found) > 30
    for name, view in found.items():
        assert act_of(view) in {*POLICY, ANYONE, OWN}, name


def test_views_open_to_anyone_are_these_and_no_others():
    assert {name for name, view in views() if act_of(view) == ANYONE} == {
        "set_language", "accounts:sign_in", "accounts:begin", "certificate:authority",
        # The app that installs: what holds nothing of the lot. Entries look at the sign-in
        # themselves, so that a phone is told why and keeps them.
        "offline:worker", "offline:manifest", "offline:away", "offline:waiting", "offline:state",
        "offline:entries",
        # A link to measure at home: one form, by its own secret.
        "share:begin", "share:step", "share:review", "share:again",
    }  # fmt: skip


def test_a_view_without_an_act_does_not_run():
    def forgotten(request):
        raise AssertionError("ran")

    with pytest.raises(ImproperlyConfigured, match="forgotten"):
        act_of(forgotten)


def test_riders_and_money_need_a_second_factor():
    for act in ("rider.see", "offer.see", "sale.see", "van.costs", "export.run"):
        assert act in GUARDED
    for role in Role:
        guarded = any(may(role, act) for act in GUARDED)
        assert needs_second_factor(role) == guarded
    assert not may("mechanic", "rider.see")
    assert not any(may("viewer", act) for act in POLICY)
    assert not may("owner", "no such act")


# Every page that is asked for with GET and belongs to one record or list.
PAGES = {
    "lot:lot": (None, "lot.see"),
    "vans:new": (None, "van.edit"),
    "vans:page": ("van", "van.see"),
    "vans:history": ("van", "van.see"),
    "vans:edit": ("van", "van.edit"),
    "riders:riders": (None, "rider.see"),
    "riders:new": (None, "rider.edit"),
    "riders:page": ("rider", "rider.see"),
    "riders:history": ("rider", "rider.see"),
    "riders:edit": ("rider", "rider.edit"),
    "riders:destroy": ("rider", "rider.destroy"),
    "photos:photo": ("photo", "rider.see"),
    "photos:thumb": ("photo", "rider.see"),
    "jobs:jobs": (None, "job.see"),
    "accounts:accounts": (None, "account.manage"),
    "accounts:me": (None, OWN),
    "accounts:new_password": (None, OWN),
}
POSTS = {
    "vans:undo": ("van", "van.undo"),
    "vans:photo": ("van", "van.photo"),
    "riders:undo": ("rider", "rider.undo"),
    "riders:photo": ("rider", "rider.photo"),
    "photos:hide": ("photo", "rider.photo"),
    "jobs:look_over": (None, "account.manage"),
    "accounts:invite": (None, "account.manage"),
    "accounts:change": ("account", "account.manage"),
}


@pytest.fixture
def numbers(van, rider, account):
    """A number for each kind of thing."""
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "navy").save(out, "JPEG")
    out.seek(0)
    photo = add_photo(rider, out, By("Ana", "page")).pk
    return {"van": van, "rider": rider, "photo": photo, "account": account("seller", "Sal").pk}


def address(name, what, numbers):
    args = [numbers[what]] if what else []
    args += ["card"] if name.endswith(":edit") else [1] if name.endswith(":undo") else []
    return reverse(name, args=args)


@pytest.mark.parametrize("role", STAFF)
def test_each_page_lets_in_who_may_and_nobody_else(role, numbers, signed_in):
    client = signed_in(role)
    for name, (what, act) in PAGES.items():
        status = client.get(address(name, what, numbers)).status_code
        allowed = act == OWN or may(role, act)
        assert (status == 200) == allowed, (name, status)
        assert status in (200, 403, 404), (name, status)


@pytest.mark.parametrize("role", STAFF)
def test_each_post_lets_in_who_may_and_nobody_else(role, numbers, signed_in):
    client = signed_in(role)
    for name, (what, act) in POSTS.items():
        data = {"base": 1, "do": "link", "role": "mechanic"}
        status = client.post(address(name, what, numbers), data).status_code
        assert (status in (200, 302)) == may(role, act), (name, status)
        assert status in (200, 302, 403, 404), (name, status)


def test_without_sign_in_every_page_leads_to_it(numbers):
    client = Client()
    for name, (what, _act) in {**PAGES, **POSTS}.items():
        url = address(name, what, numbers)
        answer = client.post(url) if name in POSTS else client.get(url)
        assert answer.status_code == 302, name
        assert answer.url.startswith("/accounts/sign-in/"), name


def test_with_a_password_only_every_page_leads_to_the_second_factor(numbers, account):
    from sillway.web.accounts.backend import AccountBackend

    client = Client()
    path = f"{AccountBackend.__module__}.{AccountBackend.__name__}"
    client.force_login(account("seller", "Sue"), backend=path)
    for name, (what, _act) in {**PAGES, **POSTS}.items():
        url = address(name, what, numbers)
        answer = client.post(url) if name in POSTS else client.get(url)
        assert answer.status_code == 302, name
        assert answer.url == "/accounts/second-factor/set-up/", name


def test_a_record_of_another_kind_or_none_is_not_found(numbers, owner):
    for url in (
        f"/vans/{numbers['rider']}/", f"/riders/{numbers['van']}/", "/vans/4711/",
        f"/vans/{numbers['van']}/?revision=4711", f"/vans/{numbers['van']}/edit/engine/",
        "/photos/4711.jpg", "/jobs/4711/", "/nowhere/",
    ):  # fmt: skip
        assert owner.get(url).status_code == 404, url


def test_the_wrong_verb_is_refused(numbers, owner):
    for name, (what, _act) in POSTS.items():
        assert owner.get(address(name, what, numbers)).status_code == 405, name
    assert owner.post("/").status_code == 405


def test_somebody_else_s_job_is_not_found(db, signed_in, owner):
    import sillway.web.jobs.tasks  # noqa: F401 - names the work

    number = ask("store.look_over", By("owner", "page", owner.account.pk))
    mechanic = signed_in("mechanic")
    assert owner.get(f"/jobs/{number}/").status_code == 200
    assert mechanic.get(f"/jobs/{number}/").status_code == 404
    assert mechanic.post(f"/jobs/{number}/cancel/").status_code == 404
    assert owner.post(f"/jobs/{number}/cancel/").status_code == 302


def test_a_destroyed_person_s_page_says_so(rider, owner):
    destroy_person(read_record(rider).row.person, By("Ana", "page"))
    answer = owner.get(f"/riders/{rider}/")
    assert answer.status_code == 410
    assert demo("rider")["name"] not in answer.content.decode()


def test_an_htmx_request_is_sent_to_sign_in_as_a_whole_page(van):
    answer = Client().get("/", headers={"HX-Request": "true"})
    assert answer.status_code == 204
    assert answer["HX-Redirect"].startswith("/accounts/sign-in/")


def test_pages_carry_the_policy_and_are_kept_nowhere(owner, van):
    answer = owner.get(f"/vans/{van}/")
    policy = answer["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert answer["Cache-Control"] == "no-store"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    text = answer.content.decode()
    assert "<style" not in text
    assert " style=" not in text
    assert "onclick" not in text
    assert text.count("<script") == text.count("<script src=")


def test_a_form_from_elsewhere_is_refused(account, van):
    client = Client(enforce_csrf_checks=True)
    answer = client.post("/accounts/sign-in/", {"name": "x", "password": "y"})
    assert answer.status_code == 403
    assert "gone stale" in answer.content.decode()
