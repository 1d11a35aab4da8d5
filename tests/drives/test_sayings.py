"""Each saying on its own, against hand calculation or an independent solver."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from lostgallon.drives.coast_down import coasting_of, drag_ratio, fuel_pct_of_force
from lostgallon.drives.coast_stretches import coast
from lostgallon.drives.cold_soak import cold_soak_of, cold_soak_patterns
from lostgallon.drives.evidence import SPEAKS_FOR, STRAY_SHARE, STRAY_WIDTHS, bells, ratios
from lostgallon.drives.kept import km_per_warm_up
from lostgallon.drives.overrun import Overrun
from lostgallon.drives.patterns import by_cause
from lostgallon.drives.samples import Samples, distance_m, hold, rate, samples_of, smooth
from lostgallon.drives.trim_patterns import trim_ratios
from lostgallon.drives.vehicle import RoadLoad, Subject, certified_road_load
from lostgallon.shop.driven import DriveLog, FuelCut, Pattern, Trim
from lostgallon.shop.spread import Spread
from lostgallon.shop.trouble import OutOfRange
from lostgallon.shop.trouble_codes import code_of
from lostgallon.shop.visit import CertifiedRoadLoad


def _samples(time, **channels):
    log = DriveLog("made", np.asarray(time, float), channels, (), (), ())
    return samples_of(log)


def _total(pct, *, bank=1, idle=None, load=None):
    values = {"idle": pct if idle is None else idle, "cruise": pct, "load": pct if load is None else load}
    return [Trim(bank, region, 0.0, value, value, 100) for region, value in values.items()]


def _by_cause(patterns):
    return {one.cause: one.likelihood_ratio for one in patterns}


class TestSamples:
    def test_distance_is_speed_over_the_logs_own_time(self):
        # By hand: 10 m/s for 30 s, uneven stamps: 300 m
        time = np.array([0.0, 1.0, 5.0, 5.5, 12.0, 30.0 - 9.0, 30.0])
        assert distance_m(_samples(time, speed_m_s=np.full(7, 10.0))) == pytest.approx(300.0)

    def test_nothing_is_counted_across_a_hole(self):
        time = np.concatenate([np.arange(0.0, 61.0), np.arange(660.0, 721.0)])
        samples = _samples(time, speed_m_s=np.full(122, 10.0))
        # two stretches of 60 s
        assert distance_m(samples) == pytest.approx(1200.0)
        assert samples.gap_s == pytest.approx(600.0)

    def test_a_reading_is_held_for_five_seconds_and_no_longer(self):
        values = np.array([7.0, *[np.nan] * 9])
        held = hold(values, np.arange(10.0))
        assert np.count_nonzero(np.isfinite(held)) == 6

    def test_smoothing_and_slope_of_a_line(self):
        time = np.sort(np.random.default_rng(1).uniform(0.0, 100.0, 400))
        samples = _samples(time, voltage_v=2.0 + 3.0 * time)
        middle = slice(40, -40)
        assert rate(samples.channels["voltage_v"], samples, window_s=5.0)[middle] == pytest.approx(3.0)
        assert smooth(samples.channels["voltage_v"], samples, window_s=2.0)[middle] == pytest.approx(
            samples.channels["voltage_v"][middle], abs=2.0
        )


class TestCoastDown:
    def test_speed_of_a_coasting_vehicle_by_hand_and_by_an_ode_solver(self):
        # F0 150 N, F2 0.5, m 1500 kg, v0 30 m/s: atan(30 sqrt(0.5/150)) = atan(1.7320508) = pi/3;
        # less 20 s x sqrt(75)/1500 = 0.1154701 gives 0.9317275, whose tangent is 1.345430; x sqrt(300) = 23.3035 m/s
        speed = coast(np.array([0.0, 20.0]), v0_m_s=30.0, f0_n=150.0, f2_n_s2_m2=0.5, mass_kg=1500.0)
        assert speed[0] == pytest.approx(30.0)
        by_hand = math.sqrt(300.0) * math.tan(math.pi / 3.0 - 0.1154701)
        assert speed[1] == pytest.approx(by_hand, rel=1e-6)
        solved = solve_ivp(lambda _t, v: -(150.0 + 0.5 * v**2) / 1500.0, (0.0, 20.0), [30.0], rtol=1e-10, atol=1e-10)
        assert speed[1] == pytest.approx(solved.y[0, -1], rel=1e-7)

    def test_the_example_of_the_trade(self):
        # 1700 kg at a steady 400 N from 80 to 60 km/h: 1700 x 5.5556 / 400 = 23.6 s; with 50 N more 21.0 s
        for force, seconds in ((400.0, 23.61), (450.0, 20.99)):
            end = coast(np.array([seconds]), v0_m_s=80 / 3.6, f0_n=force, f2_n_s2_m2=1e-3, mass_kg=1700.0)
            assert end[0] * 3.6 == pytest.approx(60.0, abs=0.15)

    def test_forty_newtons_are_found_in_a_pair_with_grade_both_ways(self):
        # Two stretches made with an ODE solver on +0.4 % and -0.4 % of grade, whole km/h, 4 rows a second
        mass, load = 1500.0, RoadLoad(150.0, 0.5, 0.03, "its certified road load")
        parts = [np.zeros(200)]
        for side in (1.0, -1.0):
            time = np.arange(0.0, 45.0, 0.25)
            force = 150.0 + 40.0 + side * mass * 9.80665 * 0.004
            solved = solve_ivp(
                lambda _t, v, f=force: -(f + 0.5 * v**2) / (mass * 1.038), (0, 45), [27.0], t_eval=time, rtol=1e-8
            )
            parts += [np.linspace(parts[-1][-1], 27.0, 60), solved.y[0], np.linspace(solved.y[0, -1], 0.0, 40)]
        speed = np.concatenate(parts)
        coasting = np.concatenate([np.zeros(200), *[np.concatenate([np.zeros(60), np.ones(180), np.zeros(40)])] * 2])
        rpm = np.where((coasting > 0) | (speed < 0.5), 750.0, 2000.0)
        # The air that road loads refer to: 1.167 kg/m3 at 98 kPa is 19.4 degC
        samples = _samples(
            np.arange(len(speed)) * 0.25,
            speed_m_s=np.round(speed * 3.6) / 3.6,
            rpm=rpm,
            ambient_c=np.full(len(speed), 19.4),
            barometer_pa=np.full(len(speed), 98_000.0),
        )
        found = coasting_of(samples, nowhere(samples), Subject(displacement_l=2.0, mass_kg=mass, road_load=load))
        assert len(found.coast_downs) == 1
        assert found.coast_downs[0].stretches == 2
        assert found.coast_downs[0].extra_drag_n.p50 == pytest.approx(40.0, abs=5.0)
        assert found.pattern[0].cause == "dragging_brake"
        assert found.pattern[0].likelihood_ratio > SPEAKS_FOR

    def test_fuel_of_ten_newtons(self):
        # Trade notes: about 1.5 % for each 10 N on a car of about 450 N at highway speed (derived, 1.3 to 1.8)
        load = RoadLoad(170.0, 0.45, 0.05, "any")
        per_10 = fuel_pct_of_force(Spread(10, 8, 10, 12), load, displacement_l=2.0)
        assert 1.2 <= per_10.p50 <= 2.2

    def test_more_drag_never_speaks_less_for_a_brake(self):
        ratios_by_force = [drag_ratio(force, 20.0) for force in (-40.0, 0.0, 20.0, 40.0, 60.0)]
        assert ratios_by_force == sorted(ratios_by_force)
        assert ratios_by_force[1] < 1.0

    def test_a_stretch_marked_by_hand_is_read_and_no_other(self):
        samples = level_coast(f0_n=190.0, rpm=750.0)
        load = RoadLoad(150.0, 0.5, 0.03, "its certified road load")
        subject = Subject(displacement_l=2.0, mass_kg=1500.0, road_load=load)
        found = coasting_of(samples, nowhere(samples), subject, marked=((52.0, 70.0),))
        assert len(found.coast_downs) == 1
        assert found.coast_downs[0].extra_drag_n.p50 == pytest.approx(40.0, abs=8.0)
        with pytest.raises(OutOfRange, match="coasting marked 0:10-0:12"):
            coasting_of(samples, nowhere(samples), subject, marked=((10.0, 12.0),))

    def test_in_gear_the_engines_own_drag_is_taken_off(self):
        # Engine of 2 L at 2000 rpm, motored: (88400 + 12.4 * 2000 + 98000 - 33000) Pa * 2e-3 m3 * 2000 / 120
        # = 5940 W, with 1540 W of accessories 7480 W; at a mean of 21.5 m/s and 0.949 that is 367 N (by hand).
        samples = level_coast(f0_n=150.0 + 367.0, rpm=2000.0, mass_factor=1.068)
        load = RoadLoad(150.0, 0.5, 0.03, "its certified road load")
        foot_off = (np.arange(len(samples.time_s)) >= 200) & (np.arange(len(samples.time_s)) < 280)
        overrun = replace(nowhere(samples), where=foot_off, cut=foot_off)
        found = coasting_of(samples, overrun, Subject(displacement_l=2.0, mass_kg=1500.0, road_load=load))
        assert found.coast_downs[0].extra_drag_n.p50 == pytest.approx(0.0, abs=25.0)
        assert "of the engine's own drag taken off" in found.coast_downs[0].says
        # What is known to a fifth claims nothing.
        assert found.pattern[0].likelihood_ratio < SPEAKS_FOR
        without = replace(samples, channels={k: v for k, v in samples.channels.items() if k != "brake"})
        assert (
            coasting_of(without, overrun, Subject(displacement_l=2.0, mass_kg=1500.0, road_load=load)).coast_downs == ()
        )


class TestWhatDragIsComparedWith:
    PAIRED = "coast there and back"

    def _coasting(self, load, *, f0_n=190.0, marked=((52.0, 70.0),)):
        samples = level_coast(f0_n=f0_n, rpm=750.0)
        subject = Subject(displacement_l=2.0, mass_kg=1500.0, road_load=load)
        return coasting_of(samples, nowhere(samples), subject, marked=marked)

    def test_drag_that_can_not_be_told_from_mass_and_kind_alone_is_named(self):
        # Taken as there and back, so that grade and wind are small beside the road load's own doubt.
        load = RoadLoad(150.0, 0.5, 0.073, "vehicles of this mass and kind")
        found = self._coasting(load, marked=((52.0, 70.0), (52.5, 69.5)))
        assert found.not_enough.name == "drag"
        assert "vehicles of this mass and kind alone" in found.not_enough.missing
        for way in ("certified road load", "--against", "spring scale"):
            assert way in found.not_enough.would_take

    def test_one_way_alone_asks_for_the_way_back(self):
        found = self._coasting(RoadLoad(150.0, 0.5, 0.02, "its certified road load"))
        assert found.not_enough.would_take.startswith(self.PAIRED)

    def test_what_speaks_is_no_lack(self):
        load = RoadLoad(150.0, 0.5, 0.02, "its certified road load")
        for f0_n in (150.0, 210.0):
            found = self._coasting(load, f0_n=f0_n, marked=((52.0, 70.0), (52.5, 69.5)))
            assert found.not_enough is None

    def test_the_certified_three_terms_by_hand(self):
        # 30 lbf = 133.447 N; 0.02 lbf/mph2 = 0.02 x 4.4482216 / 0.44704^2 = 0.445168 N s2/m2
        two = certified_road_load(CertifiedRoadLoad(133.447, 0.0, 0.445168))
        assert (two.f0_n, two.f2_n_s2_m2) == (pytest.approx(133.447), pytest.approx(0.445168))
        # With 3 N s/m between them, at 70 km/h: 133.447 + 58.333 + 168.312 = 360.09 N; in two terms within 2 %
        three = certified_road_load(CertifiedRoadLoad(133.447, 3.0, 0.445168))
        assert three.force_n(70.0 / 3.6) == pytest.approx(360.09, rel=0.02)


def level_coast(*, f0_n, rpm, mass_factor=1.038):
    """Fifty seconds at 27 m/s, a coast on a level road, a stop: solved apart from the program."""
    solved = solve_ivp(
        lambda _t, v: -(f0_n + 0.5 * v**2) / (1500.0 * mass_factor),
        (0, 20), [27.0], t_eval=np.arange(0.0, 20.0, 0.25), rtol=1e-8,
    )  # fmt: skip
    speed = np.concatenate([np.full(200, 27.0), solved.y[0], np.linspace(solved.y[0, -1], 0.0, 60), np.zeros(60)])
    turns = np.where(speed < 0.5, 750.0, 2500.0)
    turns[200:280] = rpm if rpm < 1000.0 else rpm * solved.y[0] / solved.y[0].mean()
    turns[:200] = 2700.0 if rpm < 1000.0 else turns[200]
    return _samples(
        np.arange(len(speed)) * 0.25,
        speed_m_s=speed,
        rpm=turns,
        brake=np.where(np.arange(len(speed)) >= 280, 1.0, 0.0),
        ambient_c=np.full(len(speed), 19.4),
        barometer_pa=np.full(len(speed), 98_000.0),
    )


def nowhere(samples):
    where = np.zeros(len(samples.time_s), bool)
    return Overrun(where, where, FuelCut(False, 0.0, ""))


class TestEvidence:
    @pytest.mark.parametrize(
        ("fact", "cause"), [(fact, cause) for fact, states in bells().items() for cause in states if cause != "sound"]
    )
    def test_a_ratio_averages_to_one_where_the_cause_is_not_there(self, fact, cause):
        # The mean of f1/f0 under f0 is the integral of f1: exactly 1. The cap can only take some away; above 1 the
        # ratios would claim more than they have seen.
        states = bells()[fact]
        sound = states["sound"]
        low, high = sound.mean - 40 * sound.sd, sound.mean + 40 * sound.sd

        def without(x):
            stray = STRAY_SHARE / (STRAY_WIDTHS * sound.sd)
            base = (1.0 - STRAY_SHARE) * sound.density(x, 0.0)
            base += stray if abs(x - sound.mean) <= STRAY_WIDTHS * sound.sd / 2.0 else 0.0
            others = [one for name, one in states.items() if name not in ("sound", cause)]
            return base + sum(one.prior * one.shows * (one.density(x, 0.0) - base) for one in others)

        mean, _ = quad(lambda x: ratios(fact, x)[cause] * without(x), low, high, limit=400, points=[sound.mean])
        assert 0.1 < mean < 1.02

    def test_a_cold_plateau_speaks_for_the_thermostat_and_a_normal_one_against(self):
        assert ratios("plateau_c", 65.0)["thermostat_stuck_open"] > 10.0
        assert ratios("plateau_c", 90.0)["thermostat_stuck_open"] < 0.3

    def test_a_little_warmth_left_says_nothing_about_the_sensor(self):
        time = np.arange(30.0)
        warm = _samples(time, coolant_c=np.full(30, 45.0), intake_air_c=np.full(30, 20.0))
        assert cold_soak_patterns(cold_soak_of(warm)) == ()

    def test_coolant_colder_than_the_air_is_a_sensor(self):
        time = np.arange(30.0)
        samples = _samples(time, coolant_c=np.full(30, -5.0), intake_air_c=np.full(30, 18.0))
        assert _by_cause(cold_soak_patterns(cold_soak_of(samples)))["coolant_sensor_bias"] > 10.0


class TestTrims:
    def test_lean_at_idle_only_is_a_leak(self):
        found = _by_cause(trim_ratios(_total(2.0, idle=16.0, load=0.0), meter_ln=None, metered=True))
        assert max(found, key=found.get) == "vacuum_leak"
        assert found["vacuum_leak"] > 10.0
        assert found["air_flow_sensor_biased"] < 1.0

    def test_on_an_engine_that_meters_by_pressure_the_same_trims_say_less_for_a_leak(self):
        trims = _total(2.0, idle=12.0, load=0.0)
        metered = _by_cause(trim_ratios(trims, meter_ln=None, metered=True))
        pressure = _by_cause(trim_ratios(trims, meter_ln=None, metered=False))
        assert pressure["vacuum_leak"] < metered["vacuum_leak"]

    def test_equally_lean_with_a_low_meter_is_the_meter_and_with_a_right_one_is_not(self):
        trims = _total(13.0)
        low = _by_cause(trim_ratios(trims, meter_ln=-0.13, metered=True))
        right = _by_cause(trim_ratios(trims, meter_ln=0.0, metered=True))
        assert low["air_flow_sensor_biased"] > 10.0 > low["fuel_pressure_out_of_range"]
        assert right["fuel_pressure_out_of_range"] > right["air_flow_sensor_biased"]

    def test_one_bank_lean_everywhere_is_something_that_bank_owns(self):
        trims = [*_total(14.0, bank=1), *_total(0.5, bank=2)]
        found = _by_cause(trim_ratios(trims, meter_ln=None, metered=True))
        assert found["ignition_coil_boot"] > SPEAKS_FOR
        assert found["oxygen_sensor_fault"] > SPEAKS_FOR
        assert found["vacuum_leak"] < 1.0

    def test_banks_apart_in_sign(self):
        trims = [*_total(10.0, bank=1), *_total(-10.0, bank=2)]
        found = _by_cause(trim_ratios(trims, meter_ln=None, metered=True))
        assert found["valve_timing_off"] > 3.0

    def test_rich_at_idle_only(self):
        found = _by_cause(trim_ratios(_total(-2.0, idle=-18.0, load=0.0), meter_ln=None, metered=True))
        assert found["leaking_injector"] > SPEAKS_FOR

    def test_small_trims_speak_for_nothing(self):
        found = _by_cause(trim_ratios(_total(1.5), meter_ln=0.0, metered=True))
        assert all(ratio < 1.05 for ratio in found.values())


class TestKept:
    @pytest.mark.parametrize(
        ("code", "system", "by"),
        [
            # SAE J2012: P0 and P2 by the standard, P1 and P30-P33 by the maker, P34-P39 by the standard
            ("P0128", "powertrain", "the standard"),
            ("P1128", "powertrain", "the maker"),
            ("P2195", "powertrain", "the standard"),
            ("P3101", "powertrain", "the maker"),
            ("P3401", "powertrain", "the standard"),
            ("C0040", "chassis", "the standard"),
            ("B1342", "body", "the maker"),
            ("U0100", "network", "the standard"),
            ("U3003", "network", "the standard"),
        ],
    )
    def test_class_of_a_code(self, code, system, by):
        found = code_of(code)
        assert (found.system, found.defined_by) == (system, by)

    def test_kilometers_per_warm_up_and_its_traps(self):
        assert km_per_warm_up(40.0, 480.0) == (12.0, None)
        assert km_per_warm_up(255.0, 9000.0)[1].missing.startswith("the warm-up counter stands at 255")
        assert km_per_warm_up(2.0, 480.0)[0] is None
        assert km_per_warm_up(40.0, 12.0)[0] is None
        assert km_per_warm_up(None, 480.0) == (None, None)


def test_samples_know_their_window_once():
    samples = _samples(np.arange(50.0), any=np.arange(50.0))
    assert isinstance(samples, Samples)
    assert samples.around(5.0) is samples.around(5.0)


class TestOneRatioACause:
    def test_facts_that_speak_multiply_and_silence_counts_once(self):
        # By hand: 4 x 2 = 8; 0.5 and 0.4 give 0.4; 4 x 0.5 = 2
        for ratios_in, out in (((4.0, 2.0), 8.0), ((0.5, 0.4), 0.4), ((4.0, 0.5), 2.0)):
            patterns = [Pattern("any", ratio, str(ratio), (f"check {ratio}",)) for ratio in ratios_in]
            found = by_cause(patterns)
            assert len(found) == 1
            assert found[0].likelihood_ratio == pytest.approx(out)
            assert len(found[0].checks) == 2

    def test_one_log_says_at_most_thirty_to_one(self):
        patterns = [Pattern("any", 20.0, "a", ("a",)), Pattern("any", 20.0, "b", ("b",))]
        assert by_cause(patterns)[0].likelihood_ratio == pytest.approx(30.0)
