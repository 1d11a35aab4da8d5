"""The gettext catalogs: whole, as compiled as they are written, read by gettext; a changed or unread sentence."""

import io
import re
from gettext import GNUTranslations

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from tools.catalogs import compiled, path_of, read, sentences, translated, updated

from lostgallon.causes.catalogue import catalogue
from lostgallon.paper.catalogs import CAUTION, RECORD, UNREVIEWED, lines
from lostgallon.paper.words import words_in

LANGUAGES = ("es",)


@pytest.fixture(params=LANGUAGES)
def language(request):
    return request.param


def small(*rows):
    made = Catalog(locale="es")
    for english, said, context, flags in rows:
        made.add(english, said, context=context, flags=flags)
    return made


def as_gettext_reads(made):
    stream = io.BytesIO()
    write_mo(stream, made)
    return GNUTranslations(io.BytesIO(stream.getvalue()))


def test_a_catalog_holds_every_sentence_and_no_other(language):
    wanted = {(said.context, said.english) for said in sentences()}
    assert {(message.context, message.id) for message in read(language) if message.id} == wanted
    assert len(wanted) > 2400


def test_every_sentence_is_translated_and_only_cautions_wait_for_a_reader(language):
    left = [message for message in read(language) if message.id and not translated(message)]
    unread = [message for message in read(language) if message.id and message.fuzzy and message.context != CAUTION]
    assert [message.id for message in (*left, *unread)] == []


def test_what_the_program_reads_is_what_the_translator_wrote(language):
    stream = io.BytesIO()
    write_mo(stream, compiled(read(language)))
    shipped = path_of(language, "mo").read_bytes()
    assert shipped == stream.getvalue(), f"run: python -m tools.catalogs compile {language}"


def test_figures_of_a_record_are_the_same_in_both_languages(language):
    for message in read(language):
        if message.context == RECORD:
            assert re.findall(r"\d+", message.id) == re.findall(r"\d+", message.string), message.id


def test_an_update_without_a_change_changes_nothing(language):
    before, after = read(language), updated(read(language))
    assert [(m.context, m.id, m.string, m.fuzzy) for m in before if m.id] == [
        (m.context, m.id, m.string, m.fuzzy) for m in after if m.id
    ]


def test_a_sentence_that_changed_in_english_waits_in_english():
    old = small(("Take it back", "Quitar", "pages:undo", []))
    new = updated(old).get("Undo", "pages:undo")
    assert (new.string, new.fuzzy, tuple(new.previous_id)) == ("Quitar", True, ("Take it back",))
    assert as_gettext_reads(compiled(updated(old))).pgettext("pages:undo", "Undo") == "Undo"


def test_a_caution_that_changed_in_english_is_said_in_english():
    first = lines(CAUTION)[0]
    old = small((f"{first} And more.", "Traducción vieja.", CAUTION, []))
    read_back = as_gettext_reads(compiled(updated(old)))
    assert read_back.pgettext(CAUTION, first) == read_back.pgettext(UNREVIEWED, first) == first


def test_a_caution_is_marked_until_somebody_has_read_it():
    told = as_gettext_reads(
        compiled(small(("Hot.", "Caliente.", CAUTION, ["fuzzy"]), ("Wet.", "Mojado.", CAUTION, [])))
    )
    assert told.pgettext(UNREVIEWED, "Hot.") == "Caliente."
    assert told.pgettext(CAUTION, "Hot.") == "Hot."
    assert told.pgettext(CAUTION, "Wet.") == "Mojado."


def test_a_lost_place_is_refused():
    with pytest.raises(ValueError, match="pages:saved"):
        compiled(small(("Saved: {what}.", "Guardado.", "pages:saved", [])))


def test_a_catalog_goes_through_a_translators_file(language):
    stream = io.BytesIO()
    write_po(stream, read(language))
    back = read_po(io.BytesIO(stream.getvalue()), locale=language)
    assert [(m.context, m.id, m.string, m.fuzzy) for m in back] == [
        (m.context, m.id, m.string, m.fuzzy) for m in read(language)
    ]


def test_every_caution_of_the_catalogue_has_a_translation(language):
    words = words_in(language)
    assert [text for text in catalogue().caution.values() if words.caution(text) == text] == []


def test_one_and_more_are_said_by_the_rule_of_the_language():
    for language, one, more in (("en", "1 day ago", "3 days ago"), ("es", "hace 1 día", "hace 3 días")):
        words = words_in(language, tables=("paper", "pages"))
        assert (words("say.days_ago", count=1), words("say.days_ago", count=3)) == (one, more)
