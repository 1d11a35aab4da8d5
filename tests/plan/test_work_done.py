"""Work done on this visit: planned no more, kept in the estimate at the price of its hour, measured again, provable."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.known import require_known_states
from lostgallon.job.account import Asked, account_of
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.visit import Agreed, Finding, StateChange, WorkDone
from tests.causes.worlds import case_with
from tests.plan.beliefs import belief
from tests.plan.cast import NOW, case
from tests.plan.test_decide import CATALOGUE, COLD_ENGINE, DRAG, HOSE, LEAK, advice, decided, row

AGREED = Agreed("thermostat_replace", "the owner", datetime.fromisoformat("2026-01-15T14:45"), "in person", 500.0)
DONE = WorkDone("thermostat_replace", NOW - timedelta(minutes=5))
OPEN = case(booked=HOSE, findings=(COLD_ENGINE, DRAG), agreed=(AGREED,))
TOLD = belief(thermostat_stuck_open=(0.97, 0.0, 4.0), dragging_brake=(0.96, 0.0, 7.0))


def line(found, operation):
    return next(line for line in found.estimate.lines if line.operation == operation)


def test_it_is_no_task_any_more_and_stays_in_the_estimate():
    before, after = decided(OPEN, TOLD), decided(replace(OPEN, work_done=(DONE,)), TOLD)
    assert advice(before)["thermostat_replace"] == "today"
    assert advice(after) == {"thermostat_replace": "done", "brake_slide_service": "today"}
    assert "thermostat_replace" in {step.id for step in before.plan.steps}
    assert "thermostat_replace" not in {step.id for step in after.plan.steps}
    kept, was = line(after, "thermostat_replace"), line(before, "thermostat_replace")
    assert kept.done
    assert not was.done
    assert (kept.total_money, kept.minutes, kept.agreed) == (was.total_money, was.minutes, was.agreed)
    assert not line(after, "brake_slide_service").done
    assert after.estimate.total_money == before.estimate.total_money
    assert "Done: Replace the thermostat." in after.plan.says
    assert "Done beside the booked job: Replace the thermostat" in after.plan.stands


def test_its_minutes_are_planned_no_more():
    before, after = decided(OPEN, TOLD), decided(replace(OPEN, work_done=(DONE,)), TOLD)
    assert after.plan.done_by <= before.plan.done_by
    assert after.plan.chance_on_time >= before.plan.chance_on_time - 0.03


def test_it_is_priced_as_the_vehicle_stood_then():
    closed = StateChange(NOW - timedelta(minutes=2), closed=("coolant_drained",))
    shut = replace(OPEN, states=(closed,), work_done=(DONE,))
    kept, as_now = (
        row(decided(visit, TOLD), "thermostat_replace")
        for visit in (shut, replace(shut, work_done=(replace(DONE, at=None),)))
    )
    assert kept.total_money == row(decided(OPEN, TOLD), "thermostat_replace").total_money
    assert as_now.total_money > kept.total_money


def test_it_is_measured_again_once():
    work = CATALOGUE.operation["brake_slide_service"]
    again = f"{work.re_measure} after {work.id}"
    done = replace(OPEN, work_done=(WorkDone(work.id, NOW),))
    assert again in {step.id for step in decided(done, TOLD).plan.steps}
    looked = Finding(work.re_measure, value=DRAG.value, after=(work.id,))
    assert again not in {step.id for step in decided(replace(done, findings=(*done.findings, looked)), TOLD).plan.steps}


def test_the_proof_and_what_follows_count_it():
    nothing = decided(replace(OPEN, findings=()), TOLD)
    after = decided(replace(OPEN, findings=(), work_done=(DONE,)), TOLD)
    assert nothing.proof.expected_l_per_100km is None or nothing.proof.fall_pct != after.proof.fall_pct
    assert after.proof.fall_pct.p50 > 0.0
    wheels = StateChange(NOW - timedelta(minutes=9), opened=("wheels_off",))
    shut = StateChange(NOW - timedelta(minutes=3), closed=("wheels_off",))
    cares = decided(replace(OPEN, findings=(), states=(wheels, shut)), TOLD).after_care
    assert "Wheel nuts: torque again" in {care.what for care in cares}


def test_under_a_stop_it_stays_done_without_a_price():
    found = decided(replace(OPEN, work_done=(DONE,)), TOLD, stop=LEAK)
    assert row(found, "thermostat_replace").advice == "done"
    assert row(found, "thermostat_replace").total_money is None
    assert "Replace the thermostat" not in {left.what for left in found.plan.left_out}


def test_work_that_does_not_exist_is_refused_by_name():
    with pytest.raises(BadInput, match=r"\[\[work_done\]\] 1 operation: found 'thermostat_swap'.*thermostat_replace"):
        require_known_states(case(work_done=(WorkDone("thermostat_swap"),)), catalogue())


def test_the_account_of_the_loss_stays_and_no_look_decides_on_it_any_more():
    told = case_with([Finding("wheel_spin", "found")])
    before = account_of(told, Asked(draws=1024))
    after = account_of(replace(told, work_done=(WorkDone("brake_slide_service"),)), Asked(draws=1024))
    assert after.entries[0].cause == before.entries[0].cause
    assert [entry.present for entry in after.entries] == [entry.present for entry in before.entries]
    assert after.findings == before.findings
    assert {lead.cause for check in before.checks for lead in check.leads_to} >= {"dragging_brake"}
    assert {lead.cause for check in after.checks for lead in check.leads_to}.isdisjoint({"dragging_brake"})
    worth = {check.check: check.acts_money for check in after.checks}
    assert worth["wheel_end_temps"] < {check.check: check.acts_money for check in before.checks}["wheel_end_temps"]
