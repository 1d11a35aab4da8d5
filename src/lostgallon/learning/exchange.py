"""Sums as a plain file that shops can exchange: our own form, versioned (docs/learning.md). Nothing personal in it.

With noise, every sum of the catalogue gets Laplace noise of scale (most that one visit adds) / epsilon, also those that
are zero, so that the file says almost the same with and without any one visit: C. Dwork, F. McSherry, K. Nissim, A.
Smith, Calibrating noise to sensitivity in private data analysis, 2006.
"""

import json
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.facts import BANDS
from lostgallon.learning.sums import Sums
from lostgallon.shop.trouble import BadFile, CantKeep

SCHEMA = "lostgallon-learned/1"
MOST_BY_ONE_VISIT = 8.0
BODIES = ("car", "wagon", "van", "crossover", "suv", "pickup")
DIGITS = 6
LARGEST = 1e9


def text_of(sums: Sums, *, noise: float | None = None) -> str:
    """The file.

    Args:
        sums: What is told.
        noise: Epsilon of the noise that was added, or None.
    """
    told: dict[str, Any] = {
        "schema": SCHEMA,
        "visits": round(sums.visits, DIGITS),
        "shops": sums.shops,
        "noise_epsilon": noise,
        "sums": {name: round(value, DIGITS) for name, value in sorted(sums.of.items())},
    }
    return json.dumps(told, indent=1) + "\n"


def write(path: Path, text: str) -> None:
    """Writes the file.

    Raises:
        CantKeep: If the place can't be written.
    """
    try:
        path.write_text(text, "utf-8")
    except OSError as trouble:
        reason = (trouble.strerror or "a place that can't be written").lower()
        raise CantKeep(f"{path}: found {reason}; expected a place that can be written") from None


def read(path: Path, catalogue: Catalogue) -> Sums:
    """The sums of a file.

    Raises:
        BadFile: If it can't be read, is of another form, or holds what is no sum of this catalogue.
    """
    try:
        told = json.loads(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError, ValueError):
        raise BadFile(str(path), found="a file that can't be read", expected=f"JSON with schema {SCHEMA}") from None
    if not isinstance(told, dict) or told.get("schema") != SCHEMA:
        found = repr(told.get("schema")) if isinstance(told, dict) else "no object"
        raise BadFile(str(path), found=f"schema {found}", expected=SCHEMA)
    visits, shops, sums = told.get("visits"), told.get("shops"), told.get("sums")
    if not _is_number(visits) or not isinstance(shops, int) or not 1 <= shops <= LARGEST or not isinstance(sums, dict):
        expected = "numbers of visits and shops, and sums by name"
        raise BadFile(str(path), found="no visits, shops or sums", expected=expected)
    known = set(names_of(catalogue))
    for name, value in sums.items():
        if name not in known or not _is_number(value):
            raise BadFile(
                f"{path}: sums", found=f"{name!r}: {value!r}", expected="a sum of this catalogue and a number"
            )
    return Sums(max(float(str(visits)), 0.0), shops, {name: float(value) for name, value in sums.items()})


def _is_number(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return math.isfinite(value) and abs(value) < LARGEST


def names_of(catalogue: Catalogue) -> Iterable[str]:
    """Every sum that this catalogue can have."""
    for cause in catalogue.causes:
        for band in BANDS:
            yield from (f"cause/{cause.id}/{band}/looked", f"cause/{cause.id}/{band}/there")
    for operation in catalogue.operations:
        for body in BODIES:
            yield from (f"correction/{operation.id}/{body}/{what}" for what in ("times", "weight", "share"))
    for check in catalogue.checks:
        for reading in check.readings:
            head = f"reading/{check.id}/{reading.id}"
            yield from (f"{head}/sound", f"{head}/sound_positive")
            for cause_id, _ in reading.finds:
                yield from (f"{head}/{cause_id}/there", f"{head}/{cause_id}/there_positive")


def with_noise(sums: Sums, catalogue: Catalogue, *, epsilon: float, rng: np.random.Generator) -> Sums:
    """The sums with noise that hides any one visit.

    Args:
        sums: Made with most=MOST_BY_ONE_VISIT.
        catalogue: All its sums get noise, so that a sum that is told says nothing by being there.
        epsilon: Smaller hides more.
        rng: Source of the noise.
    """
    scale = MOST_BY_ONE_VISIT / epsilon
    names = list(names_of(catalogue))
    noise = rng.laplace(0.0, scale, len(names) + 1)
    noisy = {name: sums[name] + float(each) for name, each in zip(names, noise, strict=False)}
    return Sums(max(sums.visits + float(noise[-1]), 0.0), sums.shops, noisy)
