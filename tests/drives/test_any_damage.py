"""Whatever happens to a log, it gives a verdict without a NaN in it, or one clear line."""

import numpy as np
import pytest

from drives import synthetic
from lostgallon.drives.vehicle import RoadLoad, Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers.drives import read_drive
from lostgallon.shop.trouble import Trouble
from lostgallon.shop.wire import as_json

SUBJECT = Subject(displacement_l=2.0, mass_kg=1500.0, road_load=RoadLoad(150.0, 0.5, 0.07, "any"))
ODD_CELLS = ("", "N/A", "0", "-40", "nan", "inf", "1e308", "-", "999999", "65535")


def _cells(lines, separator):
    return [line.split(separator) for line in lines]


def _kept_columns(lines, separator, rng, *, most):
    rows = _cells(lines, separator)
    places = rng.permutation(len(rows[0]))[: int(rng.integers(1, most))]
    return [separator.join(row[at] for at in places if at < len(row)) for row in rows]


def _one_column_odd(lines, separator, rng):
    column, word = int(rng.integers(len(lines[0].split(separator)))), str(rng.choice(ODD_CELLS))
    rows = [[word if at == column else cell for at, cell in enumerate(row)] for row in _cells(lines[1:], separator)]
    return [lines[0], *(separator.join(row) for row in rows)]


def _struck_letters(lines, _separator, rng):
    for _ in range(int(rng.integers(1, 200))):
        at = int(rng.integers(1, len(lines)))
        if lines[at]:
            place = int(rng.integers(len(lines[at])))
            lines[at] = lines[at][:place] + str(rng.choice(list("x,;.-9 \t\"'"))) + lines[at][place + 1 :]
    return lines


def _cut_lines(lines, _separator, rng):
    for at in rng.integers(1, len(lines), 200):
        lines[at] = lines[at][: int(rng.integers(0, len(lines[at]) + 1))]
    return lines


def _shuffled(lines, _separator, rng):
    rng.shuffle(lines)
    return lines


DAMAGE = {
    "a piece of it": lambda lines, _s, rng: lines[:1] + lines[int(rng.integers(1, len(lines))) :],
    "a few lines": lambda lines, _s, rng: lines[: int(rng.integers(2, 8))],
    "few columns": lambda lines, separator, rng: _kept_columns(lines, separator, rng, most=6),
    "columns in another order": lambda lines, separator, rng: _kept_columns(lines, separator, rng, most=20),
    "one column of nothing": _one_column_odd,
    "letters struck": _struck_letters,
    "lines cut": _cut_lines,
    "lines lost": lambda lines, _s, rng: [one for at, one in enumerate(lines) if at == 0 or rng.random() < 0.1],
    "lines shuffled": _shuffled,
    "halves swapped": lambda lines, _s, _rng: lines[:1] + lines[len(lines) // 2 :] + lines[1 : len(lines) // 2],
    "twice": lambda lines, _s, _rng: lines[:1] + lines[1:] * 2,
    "no heading": lambda lines, _s, _rng: lines[1:],
    "words around it": lambda lines, _s, _rng: ["a log", "", *lines, "end of log"],
}


@pytest.fixture(scope="module")
def logs(tmp_path_factory):
    rng, folder = np.random.default_rng(3), tmp_path_factory.mktemp("logs")
    found = []
    for style in range(4):
        signals = synthetic.drive(synthetic.make(rng), rng, ambient_c=5.0)
        path = synthetic.write_log(folder / f"{style}.csv", signals, rng, style=style, rate_hz=0.5)
        encoding = "cp1252" if style == 3 else "utf-8"
        found.append((path.read_text(encoding).splitlines(), {1: "\t", 3: ";"}.get(style, ","), encoding))
    return found


@pytest.mark.parametrize("style", range(4))
@pytest.mark.parametrize("damage", DAMAGE)
def test_a_verdict_or_one_clear_line(logs, damage, style, tmp_path):
    lines, separator, encoding = logs[style]
    rng = np.random.default_rng([style, list(DAMAGE).index(damage)])
    path = tmp_path / "log.csv"
    path.write_text("\n".join(DAMAGE[damage](list(lines), separator, rng)), encoding, errors="replace")
    try:
        verdict = drive_verdict(read_drive(path), SUBJECT)
    except Trouble as trouble:
        assert "\n" not in str(trouble)
        assert "expected" in str(trouble)
    else:
        assert "NaN" not in as_json(verdict)
        assert "nan" not in verdict.sentence
