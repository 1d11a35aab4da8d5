"""A shop's own numbers from a YAML file; what they may change is in causes/own.py."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lostgallon.shop.trouble import BadFile


def read_own_numbers(path: Path) -> Mapping[str, Any]:
    """Parts, entries and keys that differ from the catalogue, as they stand in the file.

    Raises:
        BadFile: If the file is unreadable, no YAML, or holds no keys.
    """
    import yaml  # noqa: PLC0415 - only a shop with a file of its own waits for it

    try:
        data = yaml.load(path.read_text("utf-8"), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))  # noqa: S506
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as trouble:
        raise BadFile(str(path), found=" ".join(str(trouble).split()), expected="a readable YAML file") from None
    if not isinstance(data, Mapping):
        raise BadFile(str(path), found=repr(data), expected="parts of the catalogue with the keys that differ")
    return data
