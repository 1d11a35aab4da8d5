"""Findings become evidence as the case file says: values, readings, codes, plain results, silence."""

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.evidence import evidence_of
from lostgallon.shop.driven import DriveVerdict, Pattern
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.units import PA_PER_PSI
from lostgallon.shop.visit import Finding
from tests.causes.worlds import case_with, found, normal, quantity

CAT = catalogue()


def _piece(finding, **case):
    (piece,) = evidence_of(case_with([finding], **case), CAT, drive=None).pieces
    return piece


def test_named_readings_are_seen_and_the_others_count_as_normal():
    piece = _piece(found("tire_size_tread", "off_size"))
    assert piece.seen == ("off_size",)
    assert set(piece.unseen) == {"new_or_chunky_tread", "feathered", "both_shoulders_worn"}


def test_normal_says_every_telling_reading_was_looked_for():
    assert set(_piece(normal("rad_hose")).unseen) == {"warms_early", "hotter_than_scan_value"}


def test_a_code_speaks_for_its_reading():
    # SAE J2012: P0128 is coolant below the thermostat regulating temperature, P0442 a small vapor leak.
    piece = _piece(Finding("kept_memory", codes=("P0128", "p0442")))
    assert piece.seen == ("thermostat_code", "vapor_leak_code")
    assert "misfire_code" in piece.unseen


def test_a_code_the_catalogue_does_not_know_is_on_record_and_names_no_cause():
    assert _piece(Finding("kept_memory", codes=("B1234",))).seen == ()


def test_a_code_of_no_form_is_refused():
    with pytest.raises(BadInput, match=r"kept_memory\), codes: found 'engine light'; expected a code like P0128"):
        evidence_of(case_with([Finding("kept_memory", codes=("engine light",))]), CAT, drive=None)


def test_codes_belong_to_the_kept_memory():
    with pytest.raises(BadInput, match="expected codes under 'kept_memory'"):
        evidence_of(case_with([Finding("misfire_counts", codes=("P0300",))]), CAT, drive=None)


def test_unknown_checks_and_readings_are_refused_with_the_nearest():
    with pytest.raises(BadInput, match=r"did you mean wheel_spin\?"):
        evidence_of(case_with([found("wheel_spinn")]), CAT, drive=None)
    with pytest.raises(BadInput, match=r"did you mean off_size\?"):
        evidence_of(case_with([found("tire_size_tread", "of_size")]), CAT, drive=None)


def test_pressures_are_brought_to_the_street_by_the_gas_law():
    # Published figures row 13 (ideal gas law): 32 psi gauge at 68 degF is 27.75 psi at 20 degF, +/- 0.02; the
    # placard of the case is 230 kPa = 33.36 psi, so the shortfall is 5.61 psi.
    value = tuple(quantity("32 psi", 32.0 * PA_PER_PSI, "Pa") for _ in range(4))
    piece = _piece(Finding("tire_pressure", value=value, at_c=20.0), now_c=(20.0 - 32.0) / 1.8)
    assert piece.measured.value / PA_PER_PSI == pytest.approx(230_000.0 / PA_PER_PSI - 27.75, abs=0.02)


def test_the_pull_of_a_dragging_wheel_is_what_exceeds_a_free_wheel():
    # By hand: three wheels at 9 N are free, one pulls 49 N: 40 N more than free.
    value = tuple(quantity(f"{n} N", float(n), "N") for n in (9, 9, 49, 9))
    assert _piece(Finding("drag_scale", value=value)).measured.value - 9.0 == pytest.approx(40.0)


def test_disc_temperatures_are_compared_on_one_axle():
    # Common practice: over 17 K on one axle is suspicious. Rear 171 and 112, front 96 and 98.
    value = tuple(quantity(f"{n} degC", float(n), "degC") for n in (96, 98, 171, 112))
    hot = Finding("wheel_end_temps", value=value, place=("LF", "RF", "LR", "RR"))
    assert _piece(hot).seen == ("disc_hotter",)
    even = tuple(quantity(f"{n} degC", float(n), "degC") for n in (150, 152, 92, 95))
    assert _piece(Finding("wheel_end_temps", value=even, place=("LF", "RF", "LR", "RR"))).unseen == ("disc_hotter",)


def test_a_typed_limit_replaces_the_catalogues():
    gap = (quantity("1.2 mm", 0.0012, "m"),)
    assert _piece(Finding("plug_read", value=gap, limit=quantity("1.1 mm", 0.0011, "m"))).seen
    assert not _piece(Finding("plug_read", value=gap)).seen


def test_a_value_nothing_can_read_is_named_and_moves_nothing():
    odd = Finding("egr_command", value=(quantity("3 V", 3.0, "V"),))
    evidence = evidence_of(case_with([odd]), CAT, drive=None)
    assert evidence.pieces == ()
    assert evidence.not_enough[0].name == "egr_command_value_not_used"


def test_the_latest_look_at_one_place_counts():
    evidence = evidence_of(case_with([found("wheel_spin"), normal("wheel_spin")]), CAT, drive=None)
    assert len(evidence.pieces) == 1
    assert evidence.pieces[0].unseen


def test_one_tank_widens_the_scatter():
    assert evidence_of(case_with([found("ask_baseline", "one_tank_or_partial_fills")]), CAT, drive=None).scatter_sd


def test_a_drive_log_speaks_with_bounded_odds():
    pattern = (Pattern("thermostat_stuck_open", 400.0, "71 degC plateau"), Pattern("no_such_cause", 3.0, ""))
    drive = DriveVerdict(600.0, None, None, None, None, None, (), pattern, None, (), (), (), ())
    (piece,) = evidence_of(case_with(), CAT, drive=drive).pieces
    assert piece.odds == {"thermostat_stuck_open": 12.0}


def test_the_rating_typed_beside_a_plateau_is_what_a_sound_engine_reads():
    # By hand: 71 degC under a rating of 82 degC is 11 K, not 19 K under a common 90 degC.
    plateau = (quantity("71 degC", 71.0, "degC"),)
    piece = _piece(Finding("warmup_trace", value=plateau, limit=quantity("82 degC", 82.0, "degC")))
    assert piece.measured.gauge.normal - piece.measured.value == pytest.approx(11.0)


def test_a_reading_named_beside_a_value_counts_where_it_tells_something_else():
    cold = (quantity("74 degC", 74.0, "degC"),)
    both = Finding("warmup_trace", value=cold, reading=("never_reaches_rating",))
    assert _piece(both).seen == ()
    pull = Finding("drag_scale", value=(quantity("9 N", 9.0, "N"),), reading=("over_limit",))
    assert _piece(pull).seen == ()
    thin = Finding("tire_pressure", value=(quantity("33 psi", 33 * PA_PER_PSI, "Pa"),), reading=("will_not_hold",))
    assert _piece(thin).measured is not None
