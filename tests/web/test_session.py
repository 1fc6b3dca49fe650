"""The cookie of a sign-in goes only with a sign-out."""

from django.test import Client

NAME = "sillway"


def test_a_late_request_with_the_old_secret_does_not_sign_out(owner):
    before = owner.cookies[NAME].value
    # The sign-in's second step gives the session a new secret.
    session = owner.session
    session.cycle_key()
    session.save()
    late = Client()
    late.cookies[NAME] = before
    answer = late.get("/")
    assert answer.status_code == 302
    assert NAME not in answer.cookies


def test_a_sign_out_takes_the_cookie_away(owner):
    answer = owner.post("/accounts/sign-out/")
    assert answer.cookies[NAME].value == ""
    assert answer.cookies[NAME]["max-age"] == 0
