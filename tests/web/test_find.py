"""The box on every page: it finds what the role may see and nothing else."""

import pytest
from django.test import Client

from sillway.web.policy import Role
from workbench_help import demo


def body(client, line, status=200):
    answer = client.get("/find/", {"q": line})
    assert answer.status_code == status
    return answer.content.decode()


def test_the_box_stands_on_every_page_and_finds(owner, van, rider):
    assert 'action="/find/"' in owner.get("/").content.decode()
    assert f'href="/vans/{van}/"' in body(owner, demo("van")["stock_number"])
    assert f'href="/riders/{rider}/"' in body(owner, demo("rider")["name"])
    text = body(owner, "7788")
    assert f'href="/riders/{rider}/"' in text
    assert "(555) 010-7788" in text


def test_a_size_is_shown_as_understood(owner, van):
    text = body(owner, "door over 54 in")
    assert "door over 54 in (1,372 mm)" in text
    assert f'href="/vans/{van}/"' in text
    assert "Measures of riders are sealed" in text
    assert f'href="/vans/{van}/"' not in body(owner, "door over 60 in")


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.BOOKKEEPER])
def test_what_a_role_may_not_see_is_not_found(role, signed_in, van, rider):
    client = signed_in(role)
    for line in (demo("rider")["name"], "7788", "5550107788"):
        text = body(client, line)
        assert "/riders/" not in text.split("<main", 1)[1]
        assert "Nothing found that you may see" in text
    assert f'href="/vans/{van}/"' in body(client, "door over 54 in")


def test_a_line_that_is_not_understood_says_so_and_is_kept(owner):
    text = body(owner, "door over blue", 422)
    assert "a length such as" in text
    assert 'value="door over blue"' in text


def test_who_is_not_let_in_finds_nothing(van, signed_in):
    assert Client().get("/find/?q=brundell").status_code == 302
    assert signed_in(Role.VIEWER).get("/find/?q=brundell").status_code == 403


def test_only_get(owner):
    assert owner.post("/find/", {"q": "x"}).status_code == 405


def test_markup_in_a_line_is_shown_as_text(owner):
    assert "<script>alert" not in body(owner, "<script>alert(1)</script>")
