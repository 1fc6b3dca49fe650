"""The door: passwords, lockout, second factor, sign-ins, links."""

import datetime as dt

import pytest
from django.test import Client
from django_otp import devices_for_user
from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.limits import limit
from sillway.store.models import Rate, Trace
from sillway.web import settings as real
from sillway.web.accounts.links import make_link
from sillway.web.accounts.models import Account, OneTimeLink, SignedIn
from sillway.web.policy import Role

PASSWORD = "a sentence of four words"
SIGN_IN = "/accounts/sign-in/"


def sign_in(client, name, password=PASSWORD, **more):
    return client.post(SIGN_IN, {"name": name, "password": password}, **more)


def code_of(device):
    return f"{TOTP(device.bin_key).token():06d}"


def test_passwords_are_kept_with_argon2():
    from django.contrib.auth.hashers import Argon2PasswordHasher

    assert real.PASSWORD_HASHERS == ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    kept = Argon2PasswordHasher().encode("x", "salt" * 4)
    assert kept.startswith("argon2$argon2id$")


def test_who_needs_no_second_factor_is_in_with_the_password(account):
    account("mechanic", "Max")
    client = Client()
    answer = sign_in(client, "max")
    assert answer.url == "/"
    assert client.get("/").status_code == 200


def test_a_wrong_password_says_so_without_telling_which_names_exist(account):
    account("mechanic", "Max")
    known = sign_in(Client(), "Max", "wrong").content
    unknown = sign_in(Client(), "Mux", "wrong").content
    assert b"do not go together" in known
    assert known.replace(b"Max", b"").count(b"error") == unknown.count(b"error")


def test_wrong_passwords_lock_the_account_for_that_address_only(account):
    account("mechanic", "Max")
    client = Client()
    for count in range(limit("sign_in.tries")):
        # Another spelling is no other account.
        answer = sign_in(client, ("Max", "mAX")[count % 2], "wrong")
        assert answer.status_code == (429 if count == limit("sign_in.tries") - 1 else 200)
    for name in ("Max", "MAX", " max "):
        assert sign_in(client, name).status_code == 429
    assert sign_in(Client(), "Max", REMOTE_ADDR="192.0.2.7").status_code == 302


def test_the_lock_ends_by_itself(account):
    from axes.models import AccessAttempt

    account("mechanic", "Max")
    client = Client()
    for _count in range(limit("sign_in.tries")):
        sign_in(client, "Max", "wrong")
    past = now() - dt.timedelta(seconds=limit("sign_in.locked") + 60)
    AccessAttempt.objects.update(attempt_time=past)
    assert sign_in(client, "Max").status_code == 302


def test_one_address_may_not_try_without_end(account):
    client = Client()
    sign_in(client, "nobody")
    Rate.objects.filter(key__startswith="sign_in").update(count=limit("rate.sign_in"))
    assert sign_in(client, "nobody").status_code == 429


def test_where_next_leads_only_within_this_lot(account):
    account("mechanic", "Max")
    data = {"name": "Max", "password": PASSWORD}
    for asked, leads in (("/vans/new/", "/vans/new/"), ("https://evil.example/", "/"),
                         ("//evil.example", "/"), ("javascript:alert(1)", "/")):  # fmt: skip
        assert Client().post(SIGN_IN, {**data, "next": asked}).url == leads


def test_a_closed_account_is_out_at_once(signed_in):
    client = signed_in("mechanic")
    assert client.get("/").status_code == 200
    Account.objects.update(is_active=False)
    assert client.get("/").status_code == 302


def test_the_second_factor_is_set_up_and_then_asked_for(account):
    one = account("seller", "Sue")
    client = Client()
    sign_in(client, "Sue")
    assert client.get("/").url == "/accounts/second-factor/set-up/"
    page = client.get("/accounts/second-factor/set-up/")
    device = TOTPDevice.objects.get(user=one)
    assert "<svg" in page.content.decode()
    assert client.post("/accounts/second-factor/set-up/", {"code": "000"}).status_code == 200
    assert client.get("/").status_code == 302
    device.refresh_from_db()
    device.throttle_reset()
    answer = client.post("/accounts/second-factor/set-up/", {"code": code_of(device)})
    codes = answer.context["codes"]
    assert len(codes) == limit("sign_in.codes")
    assert client.get("/").status_code == 200

    again = Client()
    sign_in(again, "Sue")
    assert again.get("/").url == "/accounts/second-factor/"
    assert again.post("/accounts/second-factor/", {"code": "123456"}).status_code == 200
    assert again.get("/").status_code == 302
    too_soon = again.post("/accounts/second-factor/", {"code": codes[0]})
    assert "too soon" in too_soon.content.decode()
    for known in devices_for_user(one):
        known.throttle_reset()
    assert again.post("/accounts/second-factor/", {"code": codes[0]}).status_code == 302
    assert again.get("/").status_code == 200
    third = Client()
    sign_in(third, "Sue")
    assert third.post("/accounts/second-factor/", {"code": codes[0]}).status_code == 200


def test_a_code_works_once(account):
    one = account("seller", "Sue")
    device = TOTPDevice.objects.create(user=one, confirmed=True)
    code = code_of(device)
    for leads in (302, 200):
        client = Client()
        sign_in(client, "Sue")
        assert client.post("/accounts/second-factor/", {"code": code}).status_code == leads


def test_the_password_alone_cannot_replace_the_second_factor(account):
    TOTPDevice.objects.create(user=account("seller", "Sue"), confirmed=True)
    client = Client()
    sign_in(client, "Sue")
    for page in (
        "/accounts/second-factor/set-up/",
        "/accounts/me/",
        "/accounts/second-factor/codes/",
    ):
        assert client.post(page, {"code": "1"}).url == "/accounts/second-factor/"
    assert TOTPDevice.objects.count() == 1


def test_the_sign_in_gets_a_new_secret_with_the_second_factor(account):
    one = account("seller", "Sue")
    device = TOTPDevice.objects.create(user=one, confirmed=True)
    client = Client()
    sign_in(client, "Sue")
    before = client.session.session_key
    client.post("/accounts/second-factor/", {"code": code_of(device)})
    assert client.session.session_key != before
    assert [row.session for row in SignedIn.objects.all()] == [client.session.session_key]


def test_codes_cannot_be_tried_without_end(account):
    one = account("seller", "Sue")
    TOTPDevice.objects.create(user=one, confirmed=True)
    client = Client()
    sign_in(client, "Sue")
    client.post("/accounts/second-factor/", {"code": "1"})
    Rate.objects.filter(key=f"code:{one.pk}").update(count=limit("rate.code"))
    assert client.post("/accounts/second-factor/", {"code": "2"}).status_code == 429


def test_sign_ins_are_listed_and_one_can_be_ended(account):
    account("mechanic", "Max")
    here, there = Client(), Client()
    sign_in(here, "Max", headers={"User-Agent": "desk"})
    sign_in(there, "Max", headers={"User-Agent": "phone"}, REMOTE_ADDR="192.0.2.7")
    text = here.get("/accounts/me/").content.decode()
    assert "desk" in text
    assert "192.0.2.7" in text
    other = SignedIn.objects.get(agent="phone")
    here.post(f"/accounts/me/end/{other.pk}/")
    assert there.get("/").status_code == 302
    assert here.get("/").status_code == 200


def test_nobody_ends_another_s_sign_in(account, signed_in):
    account("mechanic", "Max")
    client = Client()
    sign_in(client, "Max")
    number = SignedIn.objects.get(account__name="Max").pk
    assert signed_in("seller").post(f"/accounts/me/end/{number}/").status_code == 404
    assert client.get("/").status_code == 200


def test_a_new_password_ends_every_other_sign_in(account):
    account("mechanic", "Max")
    here, there = Client(), Client()
    sign_in(here, "Max")
    sign_in(there, "Max")
    new = "another sentence of words"
    here.post("/accounts/me/password/", {"password": new, "again": new})
    assert here.get("/").status_code == 200
    assert there.get("/").status_code == 302
    assert sign_in(Client(), "Max", new).status_code == 302


def begin(secret, name="Olga", password=PASSWORD, again=PASSWORD):
    data = {"name": name, "password": password, "again": again}
    return Client().post(f"/accounts/begin/{secret}/", data)


def test_a_link_opens_one_account_once(db):
    secret = make_link(Role.OWNER, By("console", "command"))
    assert OneTimeLink.objects.filter(digest__contains=secret).count() == 0
    assert Client().get(f"/accounts/begin/{secret}/").status_code == 200
    assert begin(secret).status_code == 302
    assert Account.objects.get().role == "owner"
    assert begin(secret, "Second").status_code == 410
    assert Account.objects.count() == 1


def test_a_link_runs_out(db):
    secret = make_link(Role.OWNER, By("console", "command"))
    OneTimeLink.objects.update(until=now())
    assert begin(secret).status_code == 410


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"password": "short", "again": "short"}, "too short"),
        ({"password": "password1234", "again": "password1234"}, "too common"),
        ({"again": "something else here"}, "differ"),
        ({"name": "max"}, "has this name"),
        (
            {"name": "Quillfeather", "password": "quillfeather1", "again": "quillfeather1"},
            "similar",
        ),
    ],
)
def test_a_weak_or_mistyped_choice_is_named_and_the_link_stays(account, fields, says):
    account("mechanic", "Max")
    secret = make_link(Role.SELLER, By("console", "command"))
    answer = begin(secret, **fields)
    assert answer.status_code == 200
    assert says in answer.content.decode()
    assert begin(secret).status_code == 302


def test_the_owner_invites_and_the_invited_has_that_role(owner):
    answer = owner.post("/accounts/invite/", {"role": "mechanic"})
    secret = answer.context["url"].rstrip("/").rsplit("/", 1)[1]
    begin(secret, "Max")
    assert Account.objects.get(name="Max").role == "mechanic"
    assert Trace.objects.filter(verb="link.made").exists()


def test_a_new_start_takes_the_old_factor_and_sign_ins_away(owner, account):
    one = account("seller", "Sue")
    TOTPDevice.objects.create(user=one, confirmed=True)
    client = Client()
    sign_in(client, "Sue")
    answer = owner.post(f"/accounts/{one.pk}/", {"do": "link"})
    secret = answer.context["url"].rstrip("/").rsplit("/", 1)[1]
    new = "a wholly different sentence"
    assert begin(secret, password=new, again=new).status_code == 302
    assert not TOTPDevice.objects.filter(user=one).exists()
    assert client.get("/accounts/me/").url.startswith(SIGN_IN)
    assert sign_in(Client(), "Sue", new).status_code == 302


def test_the_last_owner_stays(owner):
    number = owner.account.pk
    owner.post(f"/accounts/{number}/", {"do": "close"})
    owner.post(f"/accounts/{number}/", {"do": "role", "role": "seller"})
    one = Account.objects.get(pk=number)
    assert (one.is_active, one.role) == (True, "owner")


def test_a_changed_role_holds_at_once(owner, signed_in):
    client = signed_in("seller", "Sue")
    assert client.get("/riders/").status_code == 200
    owner.post(f"/accounts/{client.account.pk}/", {"do": "role", "role": "mechanic"})
    assert client.get("/riders/").status_code in (302, 403)
