"""A photo made anew: only its pixels are kept, upright and of a size that a page can show."""

import io
import threading
import warnings

from lostgallon.shop.trouble import BadInput

MOST_PIXELS = 60_000_000
LONGEST_SIDE_PX = 2400
_one_at_a_time = threading.Lock()
"""Sixty million pixels take 200 MB while they are decoded: one photo at a time."""
_FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")


def clean_photo(content: bytes) -> bytes:
    """A photo as JPEG without place, camera or any other data beside its pixels.

    Args:
        content: What was sent; its name and stated kind are not looked at.

    Raises:
        BadInput: If it is no photo, or one of more pixels than any camera makes.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError  # noqa: PLC0415 - only a page that keeps a photo needs it

    try:
        with _one_at_a_time, warnings.catch_warnings(), Image.open(io.BytesIO(content), formats=_FORMATS) as sent:
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            if sent.width * sent.height > MOST_PIXELS:
                raise BadInput("", found=f"a picture of {sent.width} by {sent.height}", expected="a photo of a camera")
            # A JPEG is decoded no larger than it is kept.
            sent.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            upright = ImageOps.exif_transpose(sent).convert("RGB")
            upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            out = io.BytesIO()
            upright.save(out, format="JPEG", quality=85)
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
        OSError,
        SyntaxError,
        ValueError,
    ):
        raise BadInput("", found="a file that is no photo", expected="a photo (JPEG, PNG or WebP)") from None
    return out.getvalue()
