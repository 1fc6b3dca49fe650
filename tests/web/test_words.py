"""Spanish is whole, and the pages speak it."""

import re

import polib
import pytest
from django.test import Client

from sillway.web.words import LOCALE, compile_words, missing

PLACES = re.compile(r"%\(\w+\)[sd]")


def test_every_string_has_its_spanish():
    assert missing("es") == []


def test_spanish_keeps_every_blank_to_be_filled():
    for entry in polib.pofile(str(LOCALE / "es" / "LC_MESSAGES" / "django.po")):
        assert sorted(PLACES.findall(entry.msgid)) == sorted(PLACES.findall(entry.msgstr)), entry


@pytest.fixture
def compiled(settings):
    """Translations compiled into the tests' data folder."""
    from django.utils.translation import trans_real

    compile_words(settings.FOLDER.words)
    trans_real._translations.clear()
    yield
    trans_real._translations.clear()


def test_a_page_speaks_the_language_asked_for(db, compiled):
    page = Client().get("/accounts/sign-in/", headers={"Accept-Language": "es"}).content.decode()
    assert '<html lang="es">' in page
    assert "Contraseña" in page


def test_the_language_can_be_chosen(db, compiled):
    client = Client()
    client.post("/language/", {"language": "es", "next": "/accounts/sign-in/"})
    assert "Contraseña" in client.get("/accounts/sign-in/").content.decode()
