"""Every sentence that the pages ask for is there, in every language."""

import re
from pathlib import Path

import pytest

from lostgallon.web.words import LANGUAGES, page_words

WEB = Path(__file__).parents[2] / "src" / "lostgallon" / "web"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_that_is_asked_for_is_there(language):
    asked = set()
    for file in [*WEB.rglob("*.py"), *WEB.rglob("*.html")]:
        asked |= set(re.findall(r"""\bsay\(["']([a-z_]+\.?[a-z_.]*)["'][,)]""", file.read_text("utf-8")))
    words = page_words(language)
    assert not sorted(key for key in asked if key not in words.table and key not in words.counted)


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
