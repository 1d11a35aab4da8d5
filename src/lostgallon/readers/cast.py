"""The cast: eight invented vehicles, each with its visit in data/demo/. Demo, docs, tests and benchmarks share it."""

import datetime as dt
import tomllib
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from lostgallon.readers.case import read_case
from lostgallon.shop.trouble import BadFile
from lostgallon.shop.visit import Case

CAST = {
    "gray hatch": "frost-hatch",
    "wagon": "two-faults",
    "van": "fuel-leak",
    "crossover": "dragging-crossover",
    "turbo hatch": "octane-hatch",
    "green hatch": "winter-only",
    "pickup": "tall-tire-pickup",
    "sedan": "no-loss",
}
"""Each vehicle by its name, and the visit in which the demo shows it."""
OTHER_VISITS = ("flex-pipe",)
"""More visits of the same vehicles, which the demo does not show."""
SHOP = "shop.toml"
"""What the demo tells of each visit; no case."""
NOT_TYPED = frozenset({"visit", "evidence"})


def cast(vehicle: str) -> Case:
    """The visit of one of the cast.

    Raises:
        KeyError: If nobody of the cast has that name.
    """
    return cast_visit(CAST[vehicle])


@cache
def cast_visit(visit: str) -> Case:
    """A visit by the name of its file, read as any case file is."""
    with resources.as_file(_demo()) as folder:
        return read_case(folder / f"{visit}.toml")


def cast_tables(visit: str) -> dict[str, Any]:
    """A visit's file as it is typed: section, key, value."""
    return tomllib.loads(cast_text(f"{visit}.toml"))


def cast_entries(visit: str) -> dict[str, Any]:
    """What a person would type of a visit's file, by `section.key`; days as text, without the visit's own times."""
    return {
        f"{section}.{key}": plain(value)
        for section, table in cast_tables(visit).items()
        if isinstance(table, dict) and section not in NOT_TYPED
        for key, value in table.items()
    }


def write_cast(folder: Path) -> list[Path]:
    """Write every case file and fill-up log of the demo into a folder, for a person to try and to change.

    Raises:
        BadFile: If the folder can't be made or written; a file that is there already is never replaced.
    """
    written = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in sorted(file.name for file in _demo().iterdir() if file.name.endswith((".toml", ".csv"))):
            if name == SHOP:
                continue
            with (folder / name).open("x", encoding="utf-8", newline="") as file:
                file.write(cast_text(name))
            written.append(folder / name)
    except FileExistsError as error:
        raise BadFile(str(error.filename), found="something there already", expected="a folder without it") from None
    except OSError as error:
        reason = (error.strerror or "no way to write").lower()
        raise BadFile(str(folder), found=reason, expected="a folder that can be written") from None
    return written


def cast_text(name: str) -> str:
    """A file of the demo."""
    return _demo().joinpath(name).read_text("utf-8")


def _demo() -> Traversable:
    return resources.files("lostgallon.data") / "demo"


def plain(value: Any) -> Any:
    """A value of a case file as JSON takes it: days and times as text."""
    if isinstance(value, dict):
        return {key: plain(part) for key, part in value.items()}
    return value.isoformat() if isinstance(value, dt.date) else value
