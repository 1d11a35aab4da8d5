"""A drive log as evidence of a visit: it moves belief, and a fact that a finding already told counts once."""

from dataclasses import replace
from datetime import date

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.evidence import evidence_of
from lostgallon.drives.evidence import bells
from lostgallon.drives.trim_patterns import trim_patterns, trim_ratios
from lostgallon.job.drive import with_findings
from lostgallon.readers.cast import cast
from lostgallon.shop.driven import Code, DriveVerdict, Kept, LockUp, Pattern, Trim, WarmUp
from lostgallon.shop.visit import Case, Finding, Period, Use, Visit

VEHICLE = cast("green hatch").vehicle
USE = Use(18_000.0, 12.0, 0.4, 1.0)


def _case(*findings):
    then, now = Period(9.0, "fill-ups", 20.0), Period(10.0, "fill-ups", 5.0)
    return Case("made", Visit(date(2026, 1, 15)), VEHICLE, USE, then, now, findings=findings)


def _verdict(*patterns):
    return DriveVerdict(600.0, 8.0, None, None, None, None, (), patterns, None, (), (), (), ())


COLD = Pattern("thermostat_stuck_open", 10.0, "coolant held at 60 degC", ("warmup_trace",))
SLIP = Pattern("torque_converter_clutch_off", 10.0, "slip", ("tcc_road",))


def _odds(case, *patterns):
    evidence = evidence_of(case, catalogue(), drive=_verdict(*patterns))
    return next(piece.odds for piece in evidence.pieces if piece.check == "drive_log")


def test_a_log_speaks_for_a_cause():
    assert _odds(_case(), COLD, SLIP) == pytest.approx({COLD.cause: 10.0, SLIP.cause: 10.0})


def test_what_a_finding_has_told_the_log_does_not_tell_again():
    assert _odds(_case(Finding("warmup_trace", result="found")), COLD, SLIP) == pytest.approx({SLIP.cause: 10.0})


def test_a_check_that_was_not_made_takes_nothing_from_the_log():
    assert COLD.cause in _odds(_case(Finding("warmup_trace", result="not looked at")), COLD)


def test_every_cause_and_check_of_the_tables_is_in_the_catalogue():
    trims = [Trim(1, "idle", 0.0, 0.0, 0.0, 9), Trim(1, "cruise", 0.0, 0.0, 0.0, 9)]
    causes = {one.cause for one in trim_ratios(trims, meter_ln=None, metered=True)}
    causes |= {state for states in bells().values() for state in states if state != "sound"} | {"dragging_brake"}
    assert causes <= set(catalogue().cause)
    checks = {"warmup_trace", "cold_soak_compare", "trims_three", "tcc_road", "coast_down", "km_per_warmup"}
    for check in checks:
        catalogue().check_named(check, where="the tables of a drive")
    assert trim_patterns()


def test_what_the_log_measured_is_entered_with_its_size():
    verdict = replace(
        _verdict(COLD, SLIP),
        facts=(COLD, SLIP),
        warm_up=WarmUp(2.0, 61.0, None, "cold"),
        lock_up=LockUp(0.0, 157.0, "slips"),
        kept=Kept(codes=(Code("P0128", "powertrain", "the standard"),)),
    )
    case = with_findings(_case(), verdict)
    by_check = {finding.check: finding for finding in case.findings}
    assert by_check["warmup_trace"].value[0].number == pytest.approx(61.0)
    assert by_check["tcc_road"].value[0].unit == "rpm"
    assert by_check["kept_memory"].codes == ("P0128",)
    evidence = evidence_of(case, catalogue(), drive=verdict)
    assert "drive_log" not in {piece.check for piece in evidence.pieces if piece.odds}


def test_a_finding_by_hand_stays_as_it_is():
    verdict = replace(_verdict(COLD), facts=(COLD,), warm_up=WarmUp(2.0, 61.0, None, "cold"))
    case = with_findings(_case(Finding("warmup_trace", result="normal")), verdict)
    assert [finding.check for finding in case.findings] == ["warmup_trace"]
    assert case.findings[0].result == "normal"


def test_a_normal_plateau_of_a_log_stays_a_ratio():
    warm = Pattern("thermostat_stuck_open", 0.3, "held at 90", ("warmup_trace",))
    verdict = replace(_verdict(warm), facts=(warm,), warm_up=WarmUp(2.0, 90.0, 6.0, "normal"))
    assert with_findings(_case(), verdict).findings == ()
