"""Paper and terminal in Spanish, and the small rules of a language."""

from dataclasses import replace

import pytest

from lostgallon.paper.account_view import account_text
from lostgallon.paper.fill_card import fill_card_pdf
from lostgallon.paper.letter import letter_pdf
from lostgallon.paper.sheet import sheet_pdf
from lostgallon.paper.words import words_in
from tests.paper.cast import CASE, CAST, STOPPED, THERMOSTAT, TWO_FAULT
from tests.paper.paper_text import pages_of, reader_of, text_of

SPANISH = replace(CASE, shop=replace(CASE.shop, language="es"))


@pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())
def test_the_terminal_in_spanish_fits_80_columns(account):
    assert max(len(line) for line in account_text(account, SPANISH).splitlines()) <= 80


@pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())
def test_the_spanish_letter_is_one_page_and_defers(account):
    first = pages_of(letter_pdf(account, SPANISH))[0]
    assert "están por encima de todo lo que dice esta carta." in first


def test_the_spanish_letter_says_so_in_its_file():
    pdf = letter_pdf(TWO_FAULT, SPANISH)
    assert reader_of(pdf).trailer["/Root"]["/Lang"].startswith("es")
    text = text_of(pdf)
    assert "3.0 galones por cada 100 millas (33 mpg, 7.1 L por 100 km)" in text
    assert "A Clima frío 0.35, probable 0.25 a 0.5" in text


def test_a_spanish_caution_is_marked_until_it_is_reviewed():
    hot = "Hot brakes: discs, drums and hubs burn straight after a drive: measure without touching."
    account = replace(TWO_FAULT, corrections=(replace(THERMOSTAT, cautions=(hot,)),))
    text = text_of(sheet_pdf(account, SPANISH))
    assert (
        "Frenos calientes: discos, tambores y mazas queman recién manejado: mida sin tocar. (traducción aún sin revisar)"
        in text
    )
    assert hot not in text


def test_a_caution_without_a_translation_is_printed_as_recorded():
    assert "No spark, no lamp that is hot" in text_of(sheet_pdf(STOPPED, SPANISH))


def test_the_other_papers_in_spanish():
    assert "Hoja de trabajo" in text_of(sheet_pdf(TWO_FAULT, SPANISH))
    assert "Próximas cargas" in text_of(fill_card_pdf(TWO_FAULT, SPANISH))


@pytest.mark.parametrize(
    ("items", "said"), [((), ""), (("a",), "a"), (("a", "b"), "a and b"), (("a", "b", "c"), "a, b and c")]
)
def test_lists(items, said):
    assert words_in("en").listed(items) == said
