"""Nothing is clipped: every printed word lies inside the page's margins and on no other word."""

import re
import shutil
import subprocess
from dataclasses import replace

import pytest

from lostgallon.paper.fill_card import fill_card_pdf
from lostgallon.paper.letter import letter_pdf
from lostgallon.paper.sheet import sheet_pdf
from tests.paper.cast import CASE, CAST, TWO_FAULT, gal

WORD = re.compile(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>')
PAGE = re.compile(r'width="([\d.]+)" height="([\d.]+)"')
SIDE_PT, END_PT = 41.5, 18.0
EXPECTED = {
    f"expected from {low} to {high}": replace(
        TWO_FAULT, proof=replace(TWO_FAULT.proof, expected_l_per_100km=gal(low, middle, high))
    )
    for low, middle, high in ((2.9, 3.0, 3.1), (3.3, 3.5, 3.7), (3.0, 3.6, 4.2), (2.8, 3.6, 4.39), (4.0, 4.2, 4.3))
}
ACCOUNTS = pytest.mark.parametrize("account", (CAST | EXPECTED).values(), ids=(CAST | EXPECTED).keys())

pytestmark = pytest.mark.skipif(not shutil.which("pdftotext"), reason="pdftotext (poppler) is not on this machine")


def boxes(pdf, path):
    path.write_bytes(pdf)
    text = subprocess.run(["pdftotext", "-bbox", str(path), "-"], capture_output=True, text=True, check=True).stdout
    for page in text.split("<page ")[1:]:
        width, height = map(float, PAGE.search(page).groups())
        words = [(*map(float, found[:4]), found[4]) for found in WORD.findall(page)]
        yield width, height, words


def on_each_other(words):
    for place, (left, top, right, bottom, said) in enumerate(words):
        for other_left, other_top, other_right, other_bottom, other in words[place + 1 : place + 60]:
            across = min(right, other_right) - max(left, other_left)
            down = min(bottom, other_bottom) - max(top, other_top)
            if across > 1.5 and down > 4.0:
                yield said, other


@ACCOUNTS
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("page", ["letter", "a4"])
def test_words_lie_inside_the_margins_and_on_no_other_word(account, page, language, tmp_path):
    case = replace(CASE, shop=replace(CASE.shop, language=language))
    for write in (letter_pdf, sheet_pdf, fill_card_pdf):
        for width, height, words in boxes(write(account, case, page=page), tmp_path / "paper.pdf"):
            outside = [
                said
                for left, top, right, bottom, said in words
                if left < SIDE_PT or right > width - SIDE_PT or top < END_PT or bottom > height - END_PT
            ]
            assert outside == []
            assert list(on_each_other(words)) == []
