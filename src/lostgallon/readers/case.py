"""The case file: one visit as TOML (docs/case-file.md)."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lostgallon.shop.case_reading import read_tables
from lostgallon.shop.trouble import BadFile, BadInput
from lostgallon.shop.visit import Case


def read_case(path: Path) -> Case:
    """Read a case file.

    Raises:
        BadFile: If the file is not there, not text, or not TOML.
        BadInput: If a key or a value can't be used; the message names the file and the key.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    tables = _tables(path)
    try:
        return read_tables(tables, name=path.stem, folder=path.parent)
    except BadInput as trouble:
        raise trouble.within(str(path)) from None


def _tables(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise BadFile(str(path), found="no such file", expected="a case file (TOML)") from None
    except OSError as error:
        reason = (error.strerror or "an unreadable file").lower()
        raise BadFile(str(path), found=reason, expected="a readable case file (TOML)") from None
    except UnicodeDecodeError:
        raise BadFile(str(path), found="bytes that are not UTF-8 text", expected="a case file (TOML)") from None
    except tomllib.TOMLDecodeError as error:
        raise BadFile(
            str(path), found=f"a line that is not TOML ({error})", expected='lines like key = "value"'
        ) from None
