"""How wide a line of text is, by the advances of the face that ships with the program."""

from functools import cache, lru_cache
from importlib import resources
from typing import Any

_SIZE_PX = 16.0
_DRAWN_AT = 128
"""Advances are read at so many px and scaled, so that their rounding does not matter."""
_FIGURES_WIDER = 1.03
"""Figures all of one width, as pictures show them, take a little more than the face's own. Measured on its digits."""


@lru_cache(maxsize=4096)
def advance_px(text: str, *, bold: bool = False, size_px: float = _SIZE_PX) -> float:
    """The width of a line. [px]

    Args:
        text: The line.
        bold: In the bold face.
        size_px: Size of type.
    """
    return float(_face(bold).getlength(text)) * size_px / _DRAWN_AT * _FIGURES_WIDER


@cache
def _face(bold: bool) -> Any:  # noqa: FBT001 - a cache takes no keyword-only arguments as one call
    from PIL import ImageFont  # noqa: PLC0415 - only a picture needs it

    name = f"AtkinsonHyperlegible-{'Bold' if bold else 'Regular'}.ttf"
    with resources.as_file(resources.files("lostgallon.data").joinpath("fonts", name)) as path:
        return ImageFont.truetype(str(path), _DRAWN_AT, layout_engine=ImageFont.Layout.BASIC)
