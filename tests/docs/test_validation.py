"""The validation page: nothing left out, its quotes as in the rooms' pages, its pictures as the studies say."""

import json
import re
from pathlib import Path

import pytest
from statsmodels.stats.proportion import proportion_confint
from tools import reliability, validation

from tests.hard.blind_page import page as blind_page

ROOT = Path(__file__).resolve().parent.parent.parent
PAGE = (ROOT / "docs" / "validation.md").read_text("utf-8")


def test_every_row_that_holds_a_value_is_on_the_page():
    rows = {int(row) for row in re.findall(r"^\| (\d+) \| ", PAGE, re.MULTILINE)}
    assert rows == validation.ROWS
    assert validation.missing([{"row": 3.0}]) == sorted(validation.ROWS - {3})


def test_what_is_quoted_is_what_the_rooms_say():
    quoted = validation.STUDIES + validation.origins() + "".join(validation.quotes())
    assert PAGE.endswith(quoted), "python -m tools.validation --quotes"


@pytest.mark.parametrize("study", validation.QUOTED, ids=lambda study: study.page)
def test_a_study_names_its_command_and_its_commit(study):
    _, text = validation.section(study)
    assert validation.COMMIT.findall(text)
    module = study.command.split()[2]
    assert (ROOT / f"{module.replace('.', '/')}.py").exists()


@pytest.mark.parametrize("name", reliability.pictures())
def test_the_pictures_are_as_drawn(name):
    assert (reliability.PICTURES / name).read_text("utf-8") == reliability.pictures()[name], (
        "python -m tools.reliability"
    )
    assert f"](pictures/{name})" in PAGE


@pytest.mark.parametrize(("hits", "count"), [(0, 54), (54, 54), (3, 40), (455, 500)])
def test_intervals_agree_with_statsmodels(hits, count):
    outside = proportion_confint(hits, count, alpha=0.1, method="wilson")
    assert reliability.wilson(hits / count, count) == pytest.approx(outside, abs=1e-5)


def test_the_kept_figures_of_the_blind_visits_are_those_of_the_page():
    found = json.loads(reliability.FOUND.read_text("utf-8"))
    told = (ROOT / "docs" / "account.md").read_text("utf-8")
    assert found.pop("commit") in told
    lines = {line for line in blind_page(found).splitlines() if line.strip("| -")}
    assert {line for line in lines if line not in told} == set()
