"""Catalogs for translators: everything is in them, what comes back lands in the table, a lost place is refused."""

import io
import shutil
from importlib import resources
from pathlib import Path

import pytest
from babel.messages.pofile import read_po, write_po
from tools.catalogs import TABLES, catalog_of, put_back

from lostgallon.paper.words import words_in
from lostgallon.web.words import page_words


@pytest.fixture
def data(tmp_path):
    for name in TABLES:
        for language in ("en", "es"):
            table = Path(str(resources.files("lostgallon.data") / f"{name}_{language}.toml"))
            shutil.copy(table, tmp_path)
    return tmp_path


def through_a_file(catalog):
    stream = io.BytesIO()
    write_po(stream, catalog)
    return read_po(io.BytesIO(stream.getvalue()), locale="es")


def test_every_sentence_of_the_pages_is_in_the_catalog(data):
    told = {message.context: message.string for message in catalog_of("es", data) if message.context}
    pages, shared = page_words("es").table, words_in("es").table
    for context, said in told.items():
        name, _, key = context.partition(":")
        assert said == (pages if name == "pages" else shared)[key], context
    assert len(told) > 900


def test_nothing_translated_changes_nothing(data):
    before = {path.name: path.read_text("utf-8") for path in data.iterdir()}
    assert put_back(through_a_file(catalog_of("es", data)), "es", data) == 0
    assert {path.name: path.read_text("utf-8") for path in data.iterdir()} == before


def test_a_sentence_that_was_mended_lands_in_its_table(data):
    catalog = through_a_file(catalog_of("es", data))
    catalog.get("Undo", context="pages:undo").string = "Quitar"
    assert put_back(catalog, "es", data) == 1
    assert 'undo = "Quitar"' in (data / "pages_es.toml").read_text("utf-8")


def test_a_lost_place_is_refused(data):
    catalog = through_a_file(catalog_of("es", data))
    message = next(one for one in catalog if one.context == "pages:saved")
    message.string = "Guardado."
    with pytest.raises(ValueError, match="pages, saved"):
        put_back(catalog, "es", data)
