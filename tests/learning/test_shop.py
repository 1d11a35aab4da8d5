"""From sealed visits in a shop's data to numbers that an account uses and names."""

import datetime as dt
import json
import sys
import tomllib
from importlib import resources

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.cli import main
from lostgallon.job import taught
from lostgallon.job.account import Asked, account_of
from lostgallon.job.taught import outcome_of
from lostgallon.readers.case import read_case
from lostgallon.shop.filled import CameBack
from lostgallon.shop.learned import ReadAs
from lostgallon.shop.spread import Spread
from lostgallon.shop.wire import as_json
from lostgallon.store import VehicleCard, open_store

CASE = resources.files("lostgallon.data") / "demo" / "dragging-crossover.toml"
SEALED = dt.datetime(2026, 8, 18, 12, 0, tzinfo=dt.UTC)
DRAWS = 512


@pytest.fixture(scope="module")
def case():
    with resources.as_file(CASE) as path:
        return read_case(path)


@pytest.fixture(scope="module")
def calibrations(tmp_path_factory):
    return tmp_path_factory.mktemp("calibrations")


@pytest.fixture(scope="module")
def account(case, calibrations):
    return account_of(case, Asked(draws=DRAWS, folder=calibrations))


@pytest.fixture
def shop(tmp_path, account):
    """A shop with one sealed visit: the dragging brake was freed, and ten tanks since used what was promised."""
    tables = tomllib.loads(CASE.read_text("utf-8"))
    with open_store(tmp_path / "data", clock=lambda: SEALED) as store:
        visit = store.new_visit(who="bench", idempotency_key="visit", vehicle=VehicleCard(description="crossover"))
        told = {
            f"{name}.{key}": value
            for name, table in tables.items()
            if isinstance(table, dict)
            for key, value in table.items()
        }
        told |= {f"finding.{nth}": finding for nth, finding in enumerate(tables["finding"], 1)}
        told["done.brake_slide_service"] = True
        told |= _tanks(account)
        for key, value in told.items():
            if not key.startswith("evidence."):
                store.record(visit.id, key, _plain(value), who="bench", at=SEALED, idempotency_key=f"mark-{key}")
        store.seal(visit.id, as_json(account), b"letter", who="bench")
    return tmp_path / "data"


def _tanks(account):
    """Ten tanks of 600 km a week apart at the use before the work less all of the promised fall."""
    use = account.proof.as_before_l_per_100km.p50 * (1 - account.proof.fall_pct.p50 / 100)
    day = dt.date(2026, 8, 18)
    return {
        f"tank.{nth}": {
            "date": str(day + dt.timedelta(days=7 * nth)),
            "odometer": f"{92000 + 600 * nth} km",
            "volume": f"{6 * use:.2f} L",
            "to_first_click": True,
        }
        for nth in range(11)
    }


def _plain(value):
    return value.isoformat() if isinstance(value, dt.date) else value


def run(monkeypatch, capsys, *arguments):
    monkeypatch.setattr(sys, "argv", ["lostgallon", *map(str, arguments)])
    with pytest.raises(SystemExit) as left:
        main()
    return left.value.code, capsys.readouterr()


def test_a_sealed_visit_with_proof_teaches_what_was_there_and_what_it_brought_back(shop, account, monkeypatch, capsys):
    status, told = run(monkeypatch, capsys, "learned", "--data", shop, "--json")
    assert status == 0, told.err
    found = json.loads(told.out)
    assert found["says"] == "from 1 visit here"
    numbers = {(each["id"], each["key"]): each for each in found["numbers"]}
    brake = numbers["dragging_brake", "prior_new.km_80k_to_200k"]
    assert brake["learned"]["mean"] > brake["expert"]
    share = numbers["brake_slide_service", "cures_share"]
    assert share["visits"] == 1.0
    assert [each["body"] for each in found["by_body"]] == ["crossover"]
    # the proof is not decided by the promise alone: what a check is worth is not learned from it
    assert not any(each["part"] == "checks" for each in found["numbers"])
    status, told = run(monkeypatch, capsys, "learned", "--data", shop)
    assert "from 1 visit here" in told.out
    assert max(map(len, told.out.splitlines())) <= 100


def test_a_decided_proof_also_teaches_what_a_check_is_worth(case, account):
    said = CameBack("came back", 0.95, Spread(90.0, 60.0, 90.0, 120.0), 40.0, 0.1, 8, "")
    done = ("brake_slide_service",)
    before = outcome_of(case, account, catalogue(), done=done, came_back=None)
    after = outcome_of(case, account, catalogue(), done=done, came_back=said)
    chance = [next(each.there for each in one.looked if each.cause == "dragging_brake") for one in (before, after)]
    # by hand: the odds move by 40
    assert chance[1] / (1 - chance[1]) == pytest.approx(40 * chance[0] / (1 - chance[0]), rel=1e-6)
    assert (before.readings, before.brought) == ((), ())
    assert ReadAs("wheel_end_temps", "disc_hotter", positive=True) in after.readings
    assert after.brought[0].share == pytest.approx(0.9)
    assert after.brought[0].share_sd == pytest.approx(0.6 / (2 * 1.6449), rel=1e-6)


def test_the_account_uses_what_was_learned_and_says_so(shop, case, account, calibrations, monkeypatch, capsys):
    status, _ = run(monkeypatch, capsys, "learned", "--data", shop, "--write", shop.parent / "own.yaml", "--json")
    assert status == 0
    own = account_of(case, Asked(draws=DRAWS, folder=calibrations, numbers=shop.parent / "own.yaml"))
    assert account.numbers == "from expert judgement"
    assert own.numbers == "from 1 visit here"


def test_sums_can_be_exported_pooled_and_forgotten(shop, tmp_path, monkeypatch, capsys):
    arguments = ("learned", "--data", shop, "--json")
    assert run(monkeypatch, capsys, *arguments, "--export", tmp_path / "sums.json")[0] == 0
    both = json.loads(run(monkeypatch, capsys, *arguments, "--with", tmp_path / "sums.json")[1].out)
    assert both["says"] == "from 2 visits of 2 shops"
    assert run(monkeypatch, capsys, *arguments, "--export", tmp_path / "noisy.json", "--noise", "1")[0] == 0
    noisy = json.loads((tmp_path / "noisy.json").read_text("utf-8"))
    assert noisy["noise_epsilon"] == 1.0
    assert len(noisy["sums"]) > 10 * len(json.loads((tmp_path / "sums.json").read_text("utf-8"))["sums"])
    anew = json.loads(run(monkeypatch, capsys, *arguments, "--reset")[1].out)
    assert anew["numbers"] == []
    assert anew["says"] == "from expert judgement"
    text = (tmp_path / "sums.json").read_text("utf-8")
    assert "crossover" in text  # the kind of body is told, nothing of the visit is
    assert not any(word in text for word in ("2026", "92000", "bench"))


def test_noise_needs_an_export(tmp_path, monkeypatch, capsys):
    status, told = run(monkeypatch, capsys, "learned", "--data", tmp_path, "--noise", "1")
    assert status == 2
    assert "--export" in told.err


def test_the_catalogue_knows_the_demos_correction():
    assert catalogue().cause["dragging_brake"].operation == "brake_slide_service"


def test_a_sealed_visit_is_worked_out_once_and_again_when_something_is_entered(shop, tmp_path, monkeypatch):
    known, folder = catalogue(), tmp_path / "kept"
    asked = []
    real = taught.outcome_of
    monkeypatch.setattr(taught, "outcome_of", lambda *told, **more: asked.append(1) or real(*told, **more))
    with open_store(shop, clock=lambda: SEALED) as store:
        first = list(taught.taught(store, known, folder=folder))
        assert list(taught.taught(store, known, folder=folder)) == first
        assert len(asked) == 1
        (visit,) = store.visits()
        tank = {"date": "2026-11-10", "odometer": "98600 km", "volume": "50 L", "to_first_click": True}
        store.record(visit.id, "tank.11", tank, who="bench", at=SEALED, idempotency_key="later")
        assert list(taught.taught(store, known, folder=folder)) != first
        assert len(asked) == 2
        store.set(taught.RESET, SEALED.isoformat(), who="learned")
        assert list(taught.taught(store, known, folder=folder)) == []
    text = (folder / taught.KEPT).read_text("utf-8")
    assert not any(word in text for word in ("2026", "92000", "bench", "crossover "))


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"version": "0", "visits": {}}', '{"visits": 3}'])
def test_a_kept_file_that_cannot_be_read_is_made_anew(shop, tmp_path, text):
    known = catalogue()
    (tmp_path / taught.KEPT).write_text(text, "utf-8")
    with open_store(shop, clock=lambda: SEALED) as store:
        found = list(taught.taught(store, known, folder=tmp_path))
        assert found == list(taught.taught(store, known, folder=None))
    assert json.loads((tmp_path / taught.KEPT).read_text("utf-8"))["visits"]
