"""Writes docs/dependencies.md: what a base install brings, why, and how large it is: python -m tools.dependencies.

Run it in an environment set up by `python run.py`: the sizes are those of the files there. Reasons are the comments of
pyproject.toml; for what others bring along the page names who.
"""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tools.catalogue_page import table

ROOT = Path(__file__).resolve().parent.parent
PROJECT = ROOT / "pyproject.toml"
PAGE = ROOT / "docs" / "dependencies.md"
REASON = re.compile(r'^\s*"(?P<name>[A-Za-z0-9_.-]+)[^"]*",?\s*#\s*(?P<why>.+)$', re.MULTILINE)
LARGE_MB = 50.0
HEAD = """# What it stands on

Written by `python -m tools.dependencies` in a fresh base install; the reasons are those of `pyproject.toml`. Everything
is a general-purpose library under an open license, taken from the package index as a wheel. Nothing is loaded at run
time.

"""
LARGE = {
    "ortools": "the solver that proves a plan optimal; its routing and linear solvers come in the same wheel",
    "pandas": "required by ortools, never imported by us (decision 4)",
    "polars": "see its reason; the kernel is one compiled library",
    "polars-runtime-32": "the compiled part of polars",
    "typst": "sets every letter without a browser, with its own compiler inside",
    "numpy": "every draw of every story; its linear algebra comes inside",
}


@dataclass
class Brought:
    """One installed package: version, size in MB, and the packages that ask for it."""

    name: str
    version: str
    size_mb: float
    by: set[str] = field(default_factory=set)


def installed() -> dict[str, Brought]:
    """Every package that a base install brings, by name."""
    found: dict[str, Brought] = {}
    ask = [("lostgallon", Requirement(text)) for text in _project()["dependencies"]]
    for by, requirement in ask:
        name = canonicalize_name(requirement.name)
        if requirement.marker and not requirement.marker.evaluate({"extra": ""}):
            continue
        if name not in found:
            dist = metadata.distribution(name)
            found[name] = Brought(name, dist.version, _size_mb(dist))
            ask += [(name, Requirement(text)) for text in dist.requires or ()]
        found[name].by.add(by)
    return found


def _project() -> dict[str, list[str]]:
    project: dict[str, list[str]] = tomllib.loads(PROJECT.read_text("utf-8"))["project"]
    return project


def _size_mb(dist: metadata.Distribution) -> float:
    places = (Path(str(dist.locate_file(file))) for file in dist.files or ())
    return sum(place.stat().st_size for place in places if place.exists()) / 1e6


def reasons() -> dict[str, str]:
    """Why each package is there, by name: the comments of pyproject.toml."""
    return {canonicalize_name(line["name"]): line["why"] for line in REASON.finditer(PROJECT.read_text("utf-8"))}


def page(found: dict[str, Brought]) -> str:
    """The whole page as Markdown."""
    total = sum(one.size_mb for one in found.values())
    by_size = sorted(found.values(), key=lambda one: -one.size_mb)
    large = [one for one in by_size if one.size_mb > LARGE_MB]
    largest = sum(one.size_mb for one in large)
    said = f"**A base install is {total:.0f} MB** in {len(found)} packages, {largest:.0f} MB of it in the {len(large)}"
    parts = [
        HEAD,
        f"{said} over {LARGE_MB:.0f} MB.\n\n## Over {LARGE_MB:.0f} MB, and why\n\n",
        table(("package", "MB", "why"), ((one.name, f"{one.size_mb:.0f}", LARGE[one.name]) for one in large)),
        "\n## All of them\n\n",
        table(("package", "version", "MB", "why"), map(_row, by_size)),
        "\n## Extras\n\n",
        table(("install", "brings"), _extras()),
    ]
    return "".join(parts)


def _row(one: Brought) -> tuple[str, str, str, str]:
    why = reasons().get(one.name) if "lostgallon" in one.by else f"for {', '.join(sorted(one.by))}"
    return one.name, one.version, f"{one.size_mb:.1f}", why or ""


def _extras() -> Iterator[tuple[str, str]]:
    extras = tomllib.loads(PROJECT.read_text("utf-8"))["project"]["optional-dependencies"]
    for name, needs in extras.items():
        yield f"`pip install 'lostgallon[{name}]'`", ", ".join(needs)


if __name__ == "__main__":
    PAGE.write_text(page(installed()), "utf-8")
    print(PAGE)
