"""Every sentence of the pages stands in both languages with the same places for its figures."""

import re
import tomllib
from importlib import resources
from pathlib import Path

import pytest

from lostgallon.web.words import LANGUAGES, page_words

PLACES = re.compile(r"{(\w+)}")
WEB = Path(__file__).parents[2] / "src" / "lostgallon" / "web"


def table(language):
    return page_words(language).table


def own_keys(language):
    text = resources.files("lostgallon.data").joinpath(f"pages_{language}.toml").read_text("utf-8")
    return {key for key in table(language) if key.partition(".")[0] in tomllib.loads(text)}


def test_both_languages_have_the_same_sentences():
    assert own_keys("en") == own_keys("es")


def test_both_languages_have_the_same_places():
    for key in sorted(own_keys("en")):
        assert set(PLACES.findall(table("en")[key])) == set(PLACES.findall(table("es")[key])), key


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_that_is_asked_for_is_there(language):
    asked = set()
    for file in [*WEB.rglob("*.py"), *WEB.rglob("*.html")]:
        asked |= set(re.findall(r"""\bsay\(["']([a-z_]+\.?[a-z_.]*)["'][,)]""", file.read_text("utf-8")))
    assert not sorted(key for key in asked if key not in table(language))


def test_a_page_in_spanish(shop, visit):
    shop.post("/choices", {"language": "es"})
    text = shop.get(f"/visit/{visit}").text
    assert 'lang="es"' in text
    assert "Qué lo explica" in text
    assert "Revisiones que valen la pena" in text
    for path in (
        "/",
        "/start",
        f"/visit/{visit}/figures",
        f"/visit/{visit}/check/tire_pressure",
        f"/visit/{visit}/hand-back",
        "/reading",
    ):
        assert shop.get(path).status_code == 200, path
