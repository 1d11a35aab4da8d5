"""Entries are kept in one order, never twice, never changed; undo is an entry too."""

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lostgallon.shop.trouble import BadInput, ChangedMeanwhile, NotCovered, OutOfRange
from lostgallon.store import standing
from tests.store.people import new_visit


def record(store, visit, key, value, mark, **rest):
    return store.record(visit, key, value, who="Pat", idempotency_key=mark, **rest)


def test_an_entry_is_kept_as_typed_with_who_and_when(store, clock):
    visit = new_visit(store)
    typed_at = dt.datetime(2026, 1, 15, 6, 59, tzinfo=dt.timezone(dt.timedelta(hours=-5)))
    record(store, visit, "vehicle.curb_weight", "3,650 lb", "a", at=typed_at)
    (entry,) = store.history(visit)
    assert (entry.number, entry.key, entry.value, entry.who) == (1, "vehicle.curb_weight", "3,650 lb", "Pat")
    assert entry.at == typed_at
    assert entry.kept_at == clock.now
    assert entry.replaces is None


def test_the_same_mark_twice_is_one_entry(store):
    visit = new_visit(store)
    first = record(store, visit, "vehicle.odometer", "131000 mi", "a")
    assert record(store, visit, "vehicle.odometer", "131000 mi", "a") == first
    assert len(store.history(visit)) == 1


def test_the_same_mark_for_something_else_is_refused(store):
    visit = new_visit(store)
    record(store, visit, "vehicle.odometer", "131000 mi", "a")
    with pytest.raises(BadInput, match="the mark 'a' of another entry"):
        record(store, visit, "vehicle.odometer", "132000 mi", "a")


def test_the_same_mark_twice_opens_one_visit(store):
    assert new_visit(store, "v") == new_visit(store, "v")
    assert len(store.visits()) == 1
    assert len(store.vehicles()) == 1


def test_a_later_entry_replaces_and_the_earlier_stays_on_record(store):
    visit = new_visit(store)
    first = record(store, visit, "then.economy", "23 mpg", "a")
    second = record(store, visit, "then.economy", "24 mpg", "b")
    assert second.replaces == first.id
    assert [entry.value for entry in store.history(visit)] == ["23 mpg", "24 mpg"]
    assert standing(store.history(visit))["then.economy"].value == "24 mpg"


def test_undo_is_a_new_entry_with_what_stood_before(store):
    visit = new_visit(store)
    record(store, visit, "then.economy", "23 mpg", "a")
    second = record(store, visit, "then.economy", "24 mpg", "b")
    taken_back = store.undo(second.id, who="Sam")
    assert (taken_back.value, taken_back.undo, taken_back.replaces, taken_back.who) == (
        "23 mpg",
        True,
        second.id,
        "Sam",
    )
    assert store.undo(second.id, who="Sam") == taken_back
    assert store.undo(taken_back.id, who="Pat").value == "24 mpg"
    assert len(store.history(visit)) == 4


def test_undo_of_a_first_entry_leaves_nothing_standing(store):
    visit = new_visit(store)
    store.undo(record(store, visit, "then.economy", "23 mpg", "a").id, who="Pat")
    assert standing(store.history(visit)) == {}
    assert len(store.history(visit)) == 2


def test_what_was_replaced_since_is_not_undone_beneath(store):
    visit = new_visit(store)
    first = record(store, visit, "then.economy", "23 mpg", "a")
    record(store, visit, "then.economy", "24 mpg", "b")
    with pytest.raises(ChangedMeanwhile, match='found "24 mpg" by Pat'):
        store.undo(first.id, who="Pat")


def test_an_entry_does_not_go_over_one_that_was_not_seen(store):
    visit = new_visit(store)
    seen = record(store, visit, "then.economy", "23 mpg", "a")
    record(store, visit, "then.economy", "24 mpg", "b", seen=seen.id)
    with pytest.raises(ChangedMeanwhile):
        record(store, visit, "then.economy", "25 mpg", "c", seen=seen.id)
    assert standing(store.history(visit))["then.economy"].value == "24 mpg"


def test_findings_are_numbered_as_they_come(store):
    visit = new_visit(store)
    for mark, expected in (("a", "finding.1"), ("b", "finding.2"), ("a", "finding.1")):
        added = store.add(
            visit, "finding", {"check": "air_filter_look", "result": "normal"}, who="Pat", idempotency_key=mark
        )
        assert added.key == expected
    store.undo(added.id, who="Pat")
    third = store.add(visit, "finding", {"check": "air_filter_look", "result": "found"}, who="Pat", idempotency_key="c")
    assert third.key == "finding.3", "a number that was taken back is not given again"


@pytest.mark.parametrize(
    ("key", "value", "trouble", "sentence"),
    [
        ("vehicle.curb_weight", 3650, BadInput, "found the bare number 3650; expected a mass with its unit"),
        ("vehicle.curb_weight", "36 lb", OutOfRange, "(500 to 6000 kg)"),
        ("vehicle.curbweight", "3650 lb", BadInput, "did you mean curb_weight?"),
        ("vehicle.propulsion", "hybrid", NotCovered, "not covered"),
        ("visit.date", "yesterday", BadInput, "expected a date like 2026-01-15"),
        ("visit.promised", "2026-01-15T16:30:00+01:00", BadInput, "with a time zone"),
        ("finding.1", {"check": "tire_pressure", "value": [27]}, BadInput, "found 27"),
        ("finding.1", {"check": "tire_pressure"}, BadInput, "found no result"),
        ("finding.x", {"check": "tire_pressure", "result": "found"}, BadInput, 'a key like "finding.1"'),
        ("Vehicle body", "wagon", BadInput, 'a key like "vehicle.curb_weight"'),
        ("words.concern", "\0", BadInput, "zero character"),
        ("words.concern", "\ud800", BadInput, "a character that can't be kept"),
        ("words.concern", float("nan"), BadInput, "a value of the kind float"),
        ("words.concern", "x" * 200_001, OutOfRange, "keep it as a file"),
    ],
)  # fmt: skip
def test_what_no_case_could_use_is_refused_while_the_person_is_there(light_store, key, value, trouble, sentence):
    visit = new_visit(light_store)
    with pytest.raises(trouble) as caught:
        record(light_store, visit, key, value, "a")
    assert sentence in str(caught.value)
    assert light_store.history(visit) == ()


@pytest.mark.parametrize("missing", ["0123456789abcdef", "' OR 1=1 --"])
def test_no_such_visit_or_entry(light_store, missing):
    with pytest.raises(BadInput, match="expected a visit of this shop"):
        record(light_store, missing, "then.economy", "23 mpg", "a")
    with pytest.raises(BadInput, match="expected an entry of a visit"):
        light_store.undo(f"{missing}.1", who="Pat")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abc é", max_size=3), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(value=JSON)
def test_whatever_is_kept_comes_back_identical(store, value):
    visit = new_visit(store, "one visit for all examples")
    mark = f"mark {len(store.history(visit))}"
    record(store, visit, "words.any", value, mark)
    assert store.history(visit)[-1].value == value
