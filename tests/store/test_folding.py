"""A history comes to the same case as a case file, or says what it still lacks."""

import dataclasses
import datetime as dt
import re
import tomllib
from pathlib import Path

import pytest

from lostgallon.readers.case import read_case
from lostgallon.shop.trouble import BadInput, NotCovered
from lostgallon.shop.visit import Agreed, Case
from lostgallon.store import Entry, case_of, check_value
from tests.store.people import NOON, new_visit

ROOT = Path(__file__).parents[2]
DEMO = sorted(set((ROOT / "src/lostgallon/data/demo").glob("*.toml")) - {ROOT / "src/lostgallon/data/demo/shop.toml"})


def entries_of(values):
    return [
        Entry(f"v.{number}", "v", number, key, value, "Pat", NOON, NOON, str(number))
        for number, (key, value) in enumerate(values.items(), 1)
    ]


def as_typed(value):
    """A TOML value as a page would send it: dates become texts."""
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: as_typed(item) for key, item in value.items()}
    return value


def values_of(tables):
    values = {}
    for section, table in tables.items():
        if isinstance(table, list):
            values |= {f"{section}.{number}": as_typed(item) for number, item in enumerate(table, 1)}
        elif section != "evidence":
            values |= {f"{section}.{key}": as_typed(item) for key, item in table.items()}
    return values


def example():
    guide = (ROOT / "docs/case-file.md").read_text("utf-8")
    return re.search(r"```toml\n(.*?)```", guide, re.DOTALL).group(1)


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
def test_entries_come_to_the_case_that_the_file_comes_to(path):
    values = values_of(tomllib.loads(path.read_text("utf-8")))
    from_file = dataclasses.replace(read_case(path), evidence=Case.__dataclass_fields__["evidence"].default_factory())
    assert case_of(entries_of(values), name=path.stem) == from_file


def test_kept_entries_come_to_the_case_of_the_guide(light_store, tmp_path):
    visit = new_visit(light_store)
    for key, value in values_of(tomllib.loads(example())).items():
        light_store.record(visit, key, value, who="Pat", idempotency_key=key)
    path = tmp_path / "visit.toml"
    path.write_text(re.sub(r"(?ms)^\[evidence\].*?(?=^\[)", "", example()), "utf-8")
    assert case_of(light_store.history(visit)) == read_case(path)


def test_an_empty_visit_lacks_every_required_key():
    missing = case_of([])
    guide = (ROOT / "docs/case-file.md").read_text("utf-8")
    guide = guide.partition("## What must be there")[2].partition("Everything else")[0]
    listed = re.findall(r"^\| `\[(\w+)\]`(?:, `\[(\w+)\]`)? \| ([\w, ]+) \|$", guide, re.MULTILINE)
    required = {
        f"{section}.{key}" for *sections, keys in listed for section in sections if section for key in keys.split(", ")
    }
    assert {lacking.key for lacking in missing} == required


def test_a_value_that_went_out_of_use_is_named_and_the_rest_still_stands():
    # As after an update that tightened a rule: the entry was good when it was kept.
    values = values_of(tomllib.loads(example())) | {"vehicle.body": "rocket"}
    (missing,) = case_of(entries_of(values))
    assert missing.key == "vehicle.body"
    assert "found 'rocket'" in missing.sentence


def test_keys_outside_the_case_change_nothing():
    values = values_of(tomllib.loads(example()))
    with_more = values | {"consent.1": {"by": "owner"}, "words.concern": "uses more", "tank.1": {}}
    assert case_of(entries_of(with_more)) == case_of(entries_of(values))


def test_a_consent_is_what_the_owner_agreed_to():
    answer = {"answer": "yes", "name": "the owner", "how": "in writing", "amount": "85.50 USD", "what": "Plugs"}
    values = values_of(tomllib.loads(example()))
    first = case_of(entries_of(values)).agreed
    told = case_of(entries_of(values | {"consent.spark_plugs_replace": answer})).agreed
    assert told[:-1] == first
    assert dataclasses.replace(told[-1], at=None) == Agreed(
        "spark_plugs_replace", "the owner", None, "in writing", 85.5
    )
    for not_agreed in ({"answer": "no"}, {"amount": ""}, {"amount": "85.50 EUR"}):
        assert case_of(entries_of(values | {"consent.spark_plugs_replace": answer | not_agreed})).agreed == first


def test_work_done_before_a_look_is_what_the_look_comes_after():
    told = values_of(tomllib.loads(example()))
    look = {"check": "warmup_trace", "value": ["192 degF"]}
    history = [
        *told.items(), ("finding.20", look), ("done.thermostat_replace", True),
        ("finding.21", look), ("done.spark_plugs_replace", True), ("finding.22", look),
    ]  # fmt: skip

    def after(*entries):
        kept = [
            Entry(f"v.{n}", "v", n, key, value, "Pat", NOON, NOON, str(n), undo=value is None)
            for n, (key, value) in enumerate(entries, 1)
        ]
        return [finding.after for finding in case_of(kept).findings[-3:]]

    both = ("thermostat_replace", "spark_plugs_replace")
    assert after(*history) == [(), both[:1], both]
    assert after(*history, ("done.thermostat_replace", None)) == [(), (), both[1:]]
    taken_back = ("done.thermostat_replace", None)
    assert after(*history, taken_back, ("done.thermostat_replace", True)) == [(), (), both[1:]]


def test_a_shop_that_changes_its_currency_loses_no_account():
    told = values_of(tomllib.loads(example()))
    answer = {"answer": "yes", "name": "the owner", "how": "in writing", "amount": "85.50 USD", "what": "Plugs"}
    for key in ("agreed.1", "shop.labor_rate", "shop.fee", "booked.looking"):
        told.pop(key)
    moved = case_of(entries_of(told | {"consent.spark_plugs_replace": answer, "use.fuel_price": "0.95 EUR/L"}))
    assert (moved.shop.currency, moved.agreed) == ("EUR", ())


def test_work_marked_done_is_done_from_its_entry_on_until_it_is_taken_back():
    told = values_of(tomllib.loads(example()))
    first = case_of(entries_of(told)).work_done
    done = case_of(entries_of(told | {"done.spark_plugs_replace": True})).work_done
    assert done[:-1] == first
    assert (done[-1].operation, done[-1].at.tzinfo) == ("spark_plugs_replace", None)
    assert case_of(entries_of(told | {"done.spark_plugs_replace": None})).work_done == first


def test_a_step_of_the_booked_job_is_an_entry_of_its_own():
    told = values_of(tomllib.loads(example()))
    first, second = told["booked.steps"]
    one_by_one = {key: value for key, value in told.items() if key != "booked.steps"} | {
        "step.2": second,
        "step.1": first,
    }
    assert case_of(entries_of(one_by_one)) == case_of(entries_of(told))
    more = case_of(entries_of(told | {"step.1": {"what": "drain", "minutes": 5}}))
    assert [step.what for step in more.booked.steps] == ["drain"]
    with pytest.raises(BadInput, match="no minutes"):
        check_value("step.1", {"what": "drain"})


def test_a_reading_on_a_gauge_that_was_taken_back_is_as_read():
    told = values_of(tomllib.loads(example()))
    known, taken_back = case_of(entries_of(told)), case_of(entries_of(told | {"gauge.1": None}))
    assert [value.typed for value in known.findings[0].value] == ["25.5 psi", "24.5 psi", "26.5 psi", "25.5 psi"]
    assert [value.typed for value in taken_back.findings[0].value] == ["27 psi", "26 psi", "28 psi", "27 psi"]


def test_a_promise_that_has_passed_binds_no_plan():
    late = case_of(entries_of(values_of(tomllib.loads(example()))), now=dt.datetime(2026, 1, 15, 17, 0))  # noqa: DTZ001
    assert late.visit.promised is None
    early = case_of(entries_of(values_of(tomllib.loads(example()))), now=dt.datetime(2026, 1, 15, 15, 0))  # noqa: DTZ001
    assert early.visit.promised == dt.datetime(2026, 1, 15, 16, 30)  # noqa: DTZ001


def test_kept_files_are_the_evidence():
    values = values_of(tomllib.loads(example())) | {"evidence.fill_ups": {"sha256": "ab", "name": "fills.csv"}}
    case = case_of(entries_of(values), file_path=lambda sha256: Path("/kept") / sha256)
    assert case.evidence.fill_ups == Path("/kept/ab")


def test_a_log_that_was_erased_is_no_evidence():
    def erased(_sha256):
        raise BadInput("", found="no file", expected="a file that is kept")

    values = values_of(tomllib.loads(example())) | {"evidence.fill_ups": {"sha256": "ab"}}
    assert case_of(entries_of(values), file_path=erased).evidence.fill_ups is None


def test_every_value_out_of_use_is_named_beside_what_lacks():
    values = values_of(tomllib.loads(example())) | {"finding.2": {"check": "x"}, "visit.promised": "soon"}
    del values["use.trip"]
    missing = case_of(entries_of(values))
    assert {lacking.key for lacking in missing} == {"finding.2", "visit.promised", "use.trip"}


def test_values_that_do_not_fit_each_other_are_named():
    values = values_of(tomllib.loads(example())) | {"booked.looking": {"money": "60 EUR"}}
    (missing,) = case_of(entries_of(values))
    assert missing.key == "booked.looking.money"
    assert "the currency of [use] fuel_price" in missing.sentence


def test_a_hybrid_is_refused_also_here():
    values = values_of(tomllib.loads(example())) | {"vehicle.propulsion": "hybrid"}
    with pytest.raises(NotCovered, match="hybrids"):
        case_of(entries_of(values))
