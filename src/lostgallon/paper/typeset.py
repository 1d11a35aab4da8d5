"""From plain data to a PDF: one Typst file per kind of paper, our own fonts, nothing else.

What a person typed reaches Typst as the value of a string in a JSON object, never as markup, so that it can't become
code. The same data gives the same bytes: the only date in the file is the visit's.
"""

import json
import os
import threading
from contextlib import ExitStack
from datetime import UTC, date, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from lostgallon.shop.trouble import BadFile

Page = Literal["letter", "a4"]
PAPERS: dict[Page, str] = {"letter": "us-letter", "a4": "a4"}
WIDTHS_PT: dict[Page, float] = {"letter": 612.0, "a4": 595.28}
MARGIN_PT = 42.52
"""Left and right margin: 15 mm."""

_STANDARD = "ua-1"  # ISO 14289-1: tagged, titled, with a language and words for every picture
_kept_open = ExitStack()
_one_at_a_time = threading.Lock()


def pdf_of(template: str, content: dict[str, Any], *, day: date) -> bytes:
    """A PDF from a template and its content.

    Args:
        template: Name of a file in data/paper, without its ending.
        content: What the template prints: strings, numbers, lists and objects of these.
        day: The date that the file itself carries.
    """
    with _one_at_a_time:
        made = _compiler(template).compile(
            format="pdf",
            sys_inputs={"content": json.dumps(content, ensure_ascii=False)},
            pdf_standards=[_STANDARD],
            timestamp=datetime(day.year, day.month, day.day, tzinfo=UTC),
        )
    return bytes(made)


@cache
def _compiler(template: str) -> Any:
    # Typst is a large library: loaded when the first letter is written, not with the module.
    from typst import Compiler  # noqa: PLC0415

    folder = _kept_open.enter_context(resources.as_file(resources.files("lostgallon.data")))
    return Compiler(
        str(folder / "paper" / f"{template}.typ"),
        root=str(folder / "paper"),
        font_paths=[str(folder / "fonts")],
        ignore_system_fonts=True,
    )


def write_pdf(data: bytes, path: Path) -> None:
    """Writes a PDF whole or not at all.

    Raises:
        BadFile: If it can't be written there.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    except OSError as trouble:
        beside.unlink(missing_ok=True)
        found = f"a place that can't be written ({trouble.strerror})"
        raise BadFile(str(path), found=found, expected="a folder with room and permission to write") from None
