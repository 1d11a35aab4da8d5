"""`lostgallon account`: the visits of the cast, as a person runs them."""

from pathlib import Path

import pytest

from lostgallon.readers.cast import CAST, OTHER_VISITS
from tests.paper.paper_text import text_of

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "src" / "lostgallon" / "data" / "demo"
CASES = sorted({*CAST.values(), *OTHER_VISITS} - {"two-faults", "winter-only"})  # those two have tests of their own


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def own_cache(monkeypatch, cache):
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))


def adds_up(said):
    rest = said["not_accounted_for_l_per_100km"]["mean"]
    change = said["loss"]["now_l_per_100km"]["mean"] - said["loss"]["then_l_per_100km"]["mean"]
    entries = sum(entry["l_per_100km"]["mean"] for entry in said["entries"])
    kinds = sum(kind["l_per_100km"]["mean"] for kind in said["kinds"])
    assert entries + rest == pytest.approx(change, abs=1e-9)
    assert kinds == pytest.approx(entries, abs=1e-9)


def test_winter_alone_sells_nothing(run):
    said = run("account", DEMO / "winter-only.toml", "--json", "--draws", "1024").json
    adds_up(said)
    assert said["stop"] is None
    assert not [row for row in said["corrections"] if row["advice"] == "today"]
    season = next(entry for entry in said["entries"] if entry["cause"] == "ambient_cold")
    assert season["l_per_100km"]["mean"] == max(entry["l_per_100km"]["mean"] for entry in said["entries"])


def test_two_faults_are_named(run):
    said = run("account", DEMO / "two-faults.toml", "--json", "--draws", "1024").json
    adds_up(said)
    faults = sorted((entry for entry in said["entries"] if entry["fault"]), key=lambda entry: -entry["present"])
    assert {entry["cause"] for entry in faults[:2]} == {"dragging_brake", "thermostat_stuck_open"}
    assert {row["operation"] for row in said["corrections"] if row["advice"] in ("today", "later")} >= {
        "thermostat_replace"
    }
    assert all(entry["because"] for entry in faults[:2])
    steps = said["plan"]["steps"]
    assert steps
    assert steps[0]["start"] >= "2026-01-15T14:40:00"
    assert 0 <= said["plan"]["chance_on_time"] <= 1


def test_a_leak_stops_before_any_money(run):
    said = run("account", DEMO / "fuel-leak.toml", "--json", "--draws", "1024").json
    adds_up(said)
    assert said["stop"]["id"] == "liquid_fuel"
    assert said["stop"]["cleared_by"] == "leak_smell_walk"
    assert not [row for row in said["corrections"] if row["advice"] == "today"]
    told = run("account", DEMO / "fuel-leak.toml", "--draws", "512").out
    assert "$" not in told.replace("worth $0", "")


@pytest.mark.parametrize("case", CASES)
def test_every_visit_runs_and_says_the_same_twice(run, case):
    first = run("account", DEMO / f"{case}.toml", "--json", "--draws", "512")
    adds_up(first.json)
    assert first.json["schema"] == "lostgallon/1"
    assert run("account", DEMO / f"{case}.toml", "--json", "--draws", "512").out == first.out


def test_letter_and_sheet_are_written_the_same_twice(run, tmp_path):
    for number in (1, 2):
        ran = run("account", DEMO / "two-faults.toml", "--draws", "512",
                  "--letter", tmp_path / f"letter{number}.pdf", "--sheet", tmp_path / f"sheet{number}.pdf")  # fmt: skip
        assert f"letter{number}.pdf" in ran.out
    for name in ("letter", "sheet"):
        first = (tmp_path / f"{name}1.pdf").read_bytes()
        assert first.startswith(b"%PDF")
        assert first == (tmp_path / f"{name}2.pdf").read_bytes()


def test_the_account_defers_to_the_service_information(run):
    told = run("account", DEMO / "winter-only.toml", "--draws", "1024").out
    assert "service information" in told
    assert max(len(line) for line in told.splitlines()) <= 80


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('check = "wheel_spin"', 'check = "wheel_spni"', "did you mean wheel_spin?"),
        ('reading = ["disc_hotter"]', 'reading = ["disc_hoter"]', "disc_hot"),
        ('apart = ["coolant_drained", "lifted"]', 'apart = ["coolant_draned"]', "did you mean coolant_drained?"),
        ('value = ["44 N"]', 'value = ["44 psi"]', "psi"),
    ],
)
def test_a_case_that_names_what_is_not_there_gets_one_line(run, tmp_path, old, new, said):
    text = (DEMO / "two-faults.toml").read_text("utf-8")
    text = text.replace(
        'check = "leak_smell_walk"',
        'check = "wheel_end_temps"\nreading = ["disc_hotter"]\n[[finding]]\ncheck = "leak_smell_walk"',
    )
    text = text.replace('"wagon-fills.csv"', f'"{DEMO / "wagon-fills.csv"}"')
    assert old in text
    path = tmp_path / "case.toml"
    path.write_text(text.replace(old, new), "utf-8")
    ran = run("account", path, "--draws", "256")
    assert ran.status == 2
    assert said in ran.line
    assert "case.toml" in ran.line


def test_no_such_case(run):
    assert "no such file" in run("account", "none.toml").line


def test_every_paper_is_written_in_the_language_asked_for(run, tmp_path):
    papers = {name: tmp_path / f"{name}.pdf" for name in ("letter", "sheet", "estimate", "card")}
    options = [part for name, path in papers.items() for part in (f"--{name}", path)]
    ran = run("account", DEMO / "two-faults.toml", "--draws", "512", "--language", "es", "--page", "a4", *options)
    assert "The fill card is in" in ran.out
    said = {name: text_of(path.read_bytes()) for name, path in papers.items()}
    assert "Presupuesto por escrito" in said["estimate"]
    assert "Próximas cargas" in said["card"]
    assert "Hoja de trabajo" in said["sheet"]
    assert "Lo que encontramos" in said["letter"]
    assert "Lost Gallon" in ran.out
    assert "HALLAZGOS" in ran.out
