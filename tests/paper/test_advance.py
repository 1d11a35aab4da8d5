"""Widths of text against the tables of the font file, read here byte by byte (OpenType: head, hhea, hmtx, cmap 4)."""

import struct
from importlib import resources

import pytest

from lostgallon.paper.advance import advance_px


def tables(name):
    data = resources.files("lostgallon.data").joinpath("fonts", name).read_bytes()
    count = struct.unpack_from(">H", data, 4)[0]
    rows = (struct.unpack_from(">4sIII", data, 12 + 16 * row) for row in range(count))
    return {tag.decode(): data[start : start + size] for tag, _, start, size in rows}


def glyph(cmap, code):
    for row in range(struct.unpack_from(">H", cmap, 2)[0]):
        start = struct.unpack_from(">HHI", cmap, 4 + 8 * row)[2]
        if struct.unpack_from(">H", cmap, start)[0] == 4:
            break
    part = cmap[start:]
    half = struct.unpack_from(">H", part, 6)[0]
    for place in range(0, half, 2):
        if code <= struct.unpack_from(">H", part, 14 + place)[0]:
            first, delta, offset = (
                struct.unpack_from(">H", part, 16 + half * part_of + place)[0] for part_of in (1, 2, 3)
            )
            if code < first:
                return 0
            if offset == 0:
                return (code + delta) % 65536
            at = 16 + 3 * half + place + offset + 2 * (code - first)
            return struct.unpack_from(">H", part, at)[0]
    return 0


def by_hand(text, name):
    font = tables(name)
    em, metrics = struct.unpack_from(">H", font["head"], 18)[0], struct.unpack_from(">H", font["hhea"], 34)[0]
    glyphs = [min(glyph(font["cmap"], ord(letter)), metrics - 1) for letter in text]
    return 16.0 / em * sum(struct.unpack_from(">H", font["hmtx"], 4 * one)[0] for one in glyphs)


@pytest.mark.parametrize(
    "text", ["Thermostat stuck open", "WIDE CAPITALS WM", "illi", "Vehículo más frío", "0.35, likely"]
)
@pytest.mark.parametrize("bold", [False, True])
def test_a_line_is_as_wide_as_its_letters(text, bold):
    name = f"AtkinsonHyperlegible-{'Bold' if bold else 'Regular'}.ttf"
    # Kerning takes some off, figures of one width add some: within 6 % of the bare sum of advances.
    assert advance_px(text, bold=bold) == pytest.approx(by_hand(text, name), rel=0.06)
