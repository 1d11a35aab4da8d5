"""Invented visits for the paper tests. Figures are made up and consistent with each other; none is a reference value.

Fuel is typed here in US gal per 100 mi, as in the drawings that the look was designed on.
"""

from dataclasses import replace
from datetime import date, datetime

from lostgallon.readers.cast import cast
from lostgallon.shop.account import (
    ENTRY_KINDS,
    Account,
    CheckWorth,
    Correction,
    Entry,
    EntryKind,
    FindingRow,
    Loss,
    Perishes,
    Plan,
    PlanStep,
    Proof,
    Stop,
)
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Spread
from lostgallon.shop.units import MPG_TIMES_L_PER_100KM
from lostgallon.shop.visit import Booked, Case, Period, Use, Visit

L_PER_100KM = MPG_TIMES_L_PER_100KM / 100.0


def gal(low: float, middle: float, high: float, *, mean: float | None = None) -> Spread:
    """A spread in L/100 km from figures in US gal per 100 mi."""
    average = (low + 2 * middle + high) / 4 if mean is None else mean
    return Spread(*(value * L_PER_100KM for value in (average, low, middle, high)))


def spread(low: float, middle: float, high: float) -> Spread:
    return Spread((low + 2 * middle + high) / 4, low, middle, high)


def entry(cause: str, name: str, kind: EntryKind, size: Spread, *, fault: bool = False, present: float = 1.0) -> Entry:
    return Entry(
        cause=cause,
        name=name,
        kind=kind,
        fault=fault,
        present=present,
        already_there=0.02 if fault else 0.0,
        l_per_100km=size,
        share_pct=None,
        because=(f"Reason for {name.lower()}.",),
        would_change_it=(),
    )


CASE = Case(
    name="frost hatch",
    visit=Visit(
        date=date(2026, 1, 15),
        promised=datetime(2026, 1, 15, 17, 0),  # noqa: DTZ001 - a case file holds the shop's own clock
        now=datetime(2026, 1, 15, 13, 50),  # noqa: DTZ001 - the same
        bay_c=15.6,
    ),
    vehicle=cast("gray hatch").vehicle,
    use=Use(distance_per_year_km=15000.0, trip_km=9.0, highway_share=0.2, fuel_price_per_l=3.35 / 3.785411784),
    then=Period(economy_l_per_100km=7.1, basis="fill-ups", ambient_c=18.0),
    now=Period(economy_l_per_100km=9.7, basis="fill-ups", ambient_c=-12.0),
    booked=Booked(operation="front struts", apart=("lifted", "wheels_off"), looking_minutes=25.0, looking_money=60.0),
)

WINTER_ENTRIES = (
    entry("thermostat_stuck_open", "Thermostat stuck open", "engine", gal(0.05, 0.2, 0.3), fault=True, present=0.97),
    entry("brake_drag", "Brake drag, front", "brakes_driveline", gal(0, 0.01, 0.06), fault=True, present=0.31),
    entry("ambient_cold", "Cold weather", "season", gal(0.25, 0.35, 0.5)),
    entry("winter_fuel_blend", "Winter gasoline", "season", gal(0.03, 0.05, 0.08)),
    entry("short_trips", "Short trips", "use", gal(0.1, 0.25, 0.35)),
    entry("new_tires", "New or winter tires", "tires", gal(0.05, 0.1, 0.2)),
    entry("defroster", "Defroster, seat heat", "electrical", gal(0.01, 0.03, 0.05)),
    entry("tire_under_inflation", "Tires under-inflated", "tires", gal(0.01, 0.02, 0.03), fault=True),
)

THERMOSTAT = Correction(
    operation="thermostat_replace",
    name="Replace thermostat",
    cause="thermostat_stuck_open",
    minutes_alone=60.0,
    minutes_now=60.0,
    parts_money=spread(40.0, 45.0, 55.0),
    labor_money=140.0,
    labor_money_alone=140.0,
    saves_l_per_year=spread(11.4, 34.1, 56.8),
    saves_money_per_year=spread(10.0, 30.0, 50.0),
    pays_back_months=spread(44.0, 74.0, 222.0),
    advice="today",
    trigger="",
    because="Coolant 160 °F, rated 190 °F; it restores the heater and ends cold running.",
    fill_in=("torque of the housing bolts", "coolant type"),
    cautions=("Open the cooling system only below 120 °F. The electric fan can start by itself.",),
    steps=("Let the engine cool.", "Drain to below the housing.", "Change the thermostat and its seal.", "Bleed."),
    follow_up=("Recheck the level after the first day.",),
    total_money=185.0,
)
TIRES = Correction(
    operation="tire_set",
    name="Set tire pressure",
    cause="tire_under_inflation",
    minutes_alone=5.0,
    minutes_now=2.0,
    parts_money=spread(0.0, 0.0, 0.0),
    labor_money=0.0,
    labor_money_alone=12.0,
    saves_l_per_year=spread(3.8, 7.6, 11.4),
    saves_money_per_year=spread(3.4, 6.7, 10.0),
    pays_back_months=spread(0.0, 0.0, 0.0),
    advice="today",
    trigger="",
    because="Wheels go back on anyway.",
    fill_in=(),
    cautions=("Never above the sidewall maximum.",),
    steps=("Set 37 psi in the bay.",),
    total_money=0.0,
)
SLIDES = replace(
    THERMOSTAT,
    operation="brake_slide_service",
    name="Clean and grease front brake slides",
    cause="brake_drag",
    minutes_alone=40.0,
    minutes_now=10.0,
    parts_money=spread(5.0, 5.0, 5.0),
    labor_money=23.33,
    labor_money_alone=93.33,
    saves_l_per_year=spread(0.0, 1.5, 9.0),
    saves_money_per_year=spread(0.0, 1.3, 8.0),
    pays_back_months=spread(12.0, 28.0, 48.0),
    advice="later",
    trigger="if the pull test finds drag",
    because="Open wheels are not a reason to sell it.",
    fill_in=("torque of the slide bolts",),
    cautions=("Brake dust can hold harmful fibers: wet it, never blow it.",),
    steps=("Free the slides.", "Clean.", "Grease."),
    follow_up=(),
    total_money=28.33,
)
FILTER = replace(
    THERMOSTAT,
    operation="air_filter_replace",
    name="Replace air filter",
    cause="air_filter_dirty",
    advice="not for fuel",
    because="Gray, but on this engine it costs no fuel.",
    fill_in=(),
    cautions=(),
    steps=(),
    pays_back_months=None,
    total_money=31.0,
    trigger="at its interval",
)

LOOKED_AT = FindingRow(
    check="trims_three",
    name="Fuel trims, idle and cruise",
    result="normal",
    readings=(),
    value=(),
    place=(),
    limit=None,
    limit_source=None,
    outside_by=None,
    before_good_days=False,
)
FINDINGS = (
    replace(
        LOOKED_AT,
        check="tire_pressure",
        name="Tire pressure",
        result=None,
        value=("29.5 psi", "30.5 psi", "29 psi", "30 psi"),
        place=("LF", "RF", "LR", "RR"),
        limit="32 psi",
        limit_source="placard",
        outside_by="all four low by 1.5 to 3 psi",
    ),
    replace(
        LOOKED_AT,
        check="coolant_plateau",
        name="Coolant, highest on the drive in",
        result="found",
        value=("160 degF",),
        limit="180 degF",
        limit_source="service information, cooling chapter",
        outside_by="low by 20 degF",
    ),
    replace(LOOKED_AT, place=("bank 1",)),
    replace(LOOKED_AT, check="compression", name="Compression", result="not looked at"),
)

CHECKS = (
    CheckWorth(
        check="coolant_road",
        name="Coolant on the road drive",
        minutes=3.0,
        acts_money=21.0,
        explains_money=10.0,
        tells=("thermostat_stuck_open",),
        needs=("road_ready",),
        perishes=None,
        fits=True,
        why="Shows whether it reaches its rating.",
        cautions=("Open the cap only below 120 °F.",),
    ),
    CheckWorth(
        check="pull_test",
        name="Pull test, front wheels",
        minutes=4.0,
        acts_money=12.0,
        explains_money=5.0,
        tells=("brake_drag",),
        needs=("wheels_off",),
        perishes=Perishes(state="wheels_off", minutes=75.0),
        fits=True,
        why="Drag shows while the wheels are off.",
        cautions=("Keep hands clear of the hub.",),
    ),
)


def _step(what: str, kind: str, start: str, end: str, *, says: str = "", cautions: tuple[str, ...] = ()) -> PlanStep:
    day = "2026-01-15T"
    return PlanStep(what, kind, f"{day}{start}:00", f"{day}{end}:00", says=says, cautions=cautions)  # type: ignore[arg-type]


PLAN = Plan(
    steps=(
        _step("Pull test, front wheels", "check", "13:50", "14:00", cautions=("Keep hands clear of the hub.",)),
        _step("front struts", "booked", "14:00", "15:10", says="the rest of the booked job"),
        _step("Replace thermostat", "correction", "15:10", "16:10", cautions=THERMOSTAT.cautions),
        _step("warm-up and bleeding", "wait", "16:10", "16:22"),
        _step("Road drive with coolant log", "drive", "16:22", "16:34"),
        _step("torque, levels, wheel nuts", "release", "16:34", "16:44"),
    ),
    done_by="2026-01-15T16:44:00",
    chance_on_time=0.8,
    left_out=(),
    next_half_hour_money=12.0,
    likely_done=("2026-01-15T16:25:00", "2026-01-15T17:10:00"),
)

TWO_FAULT = Account(
    case="frost hatch",
    currency="USD",
    seed=1,
    draws=4096,
    stop=None,
    loss=Loss(
        then_l_per_100km=gal(2.9, 3.0, 3.1),
        now_l_per_100km=gal(3.95, 4.1, 4.25),
        increase_pct=spread(30.0, 36.7, 44.0),
        probability_real=0.9995,
        lost_l_per_100km=gal(0.9, 1.1, 1.3),
    ),
    entries=WINTER_ENTRIES,
    kinds=(),
    not_accounted_for_l_per_100km=gal(-0.1, 0.09, 0.3),
    checks=CHECKS,
    findings=FINDINGS,
    corrections=(TIRES, THERMOSTAT, SLIDES, FILTER),
    plan=PLAN,
    proof=Proof(
        expected_l_per_100km=gal(3.7, 3.9, 4.0),
        tanks_needed=3,
        rule="The first tank does not count. Three tanks at 4.0 or below, and the fuel came back.",
    ),
    not_enough=(),
    sentence="Three quarters of the extra fuel is winter and short trips; the thermostat explains most of the rest.",
    circumstances_l_per_100km=gal(0.6, 0.8, 1.0),
    faults_l_per_100km=gal(0.1, 0.2, 0.35),
)
"""The winter hatch of the drawings: two thirds season and trips, a thermostat, tires a little low."""

NOTHING_WRONG = replace(
    TWO_FAULT,
    entries=tuple(row for row in WINTER_ENTRIES if not row.fault),
    not_accounted_for_l_per_100km=gal(-0.1, 0.32, 0.5),
    corrections=(),
    findings=FINDINGS[2:],
    checks=(),
    plan=replace(PLAN, steps=PLAN.steps[1:2], done_by="2026-01-15T15:10:00", likely_done=None),
    sentence="",
    faults_l_per_100km=gal(0.0, 0.0, 0.02),
    proof=replace(TWO_FAULT.proof, expected_l_per_100km=gal(3.9, 4.1, 4.3)),
)

STOPPED = replace(
    TWO_FAULT,
    stop=Stop(
        id="liquid_fuel",
        what="liquid fuel or a strong fuel smell",
        because=("Wet fuel at the left frame rail, seen under the lift.",),
        cleared_by="leak_smell_walk",
    ),
    checks=(replace(CHECKS[0], check="leak_smell_walk", name="Fuel smell and wet look, under and around"),),
    corrections=(
        replace(
            THERMOSTAT,
            operation="fuel_line_repair",
            name="Repair the fuel line",
            cause="fuel_leak_liquid",
            advice="stop",
            parts_money=None,
            labor_money=None,
            labor_money_alone=None,
            saves_money_per_year=None,
            pays_back_months=None,
            total_money=None,
            because="Fuel drips near the exhaust.",
            cautions=("No spark, no lamp that is hot, no running engine near fuel vapor.",),
        ),
    ),
    plan=Plan(steps=(), done_by=None, chance_on_time=None, left_out=(), next_half_hour_money=None),
    proof=Proof(expected_l_per_100km=None, tanks_needed=None, rule=""),
    sentence="",
)

NO_LOSS = replace(
    NOTHING_WRONG,
    loss=Loss(
        then_l_per_100km=gal(3.3, 3.5, 3.7),
        now_l_per_100km=gal(3.25, 3.48, 3.7),
        increase_pct=spread(-6.0, -0.6, 5.0),
        probability_real=0.08,
    ),
    entries=(entry("fill_scatter", "Fill-up scatter", "measurement", gal(-0.2, -0.04, 0.15)),),
    not_accounted_for_l_per_100km=gal(-0.1, 0.0, 0.1),
    circumstances_l_per_100km=None,
    faults_l_per_100km=None,
    findings=(),
    not_enough=(NotEnough("few_tanks", "a step smaller than 6 % can't be told from scatter", "5 more tanks"),),
    proof=Proof(expected_l_per_100km=None, tanks_needed=5, rule="Five more tanks, first click."),
)

TWO_ENTRIES = replace(NOTHING_WRONG, entries=WINTER_ENTRIES[2:4], not_accounted_for_l_per_100km=gal(0.4, 0.7, 0.9))

FOURTEEN = replace(
    TWO_FAULT,
    entries=tuple(
        entry(
            f"cause_{count}",
            f"{kind.replace('_', ' ').capitalize()} cause {count} with a name that runs long",
            kind,
            gal(0.0 if count % 3 else 0.02, 0.0 if count % 3 == 2 else 0.05, 0.12 + 0.02 * count, mean=0.06),
            fault=count >= 7,
            present=0.3 + 0.05 * (count % 9),
        )
        for count in range(14)
        for kind in (ENTRY_KINDS[count % 7],)
    ),
    not_accounted_for_l_per_100km=gal(-0.1, 0.1, 0.3),
)

NEGATIVE_GAP = replace(
    TWO_FAULT,
    entries=(
        *WINTER_ENTRIES[:2],
        entry("ambient_cold", "Cold weather", "season", gal(0.4, 0.9, 1.3)),
        *WINTER_ENTRIES[3:],
    ),
    not_accounted_for_l_per_100km=gal(-0.7, -0.45, 0.1),
)

WIDER_THAN_LOSS = replace(
    TWO_ENTRIES,
    entries=(
        entry("brake_drag", "Brake drag, front", "brakes_driveline", gal(0.1, 0.6, 2.4), fault=True, present=0.9),
    ),
    not_accounted_for_l_per_100km=gal(-0.4, 0.5, 0.9),
)

CAST = {
    "two_fault": TWO_FAULT,
    "nothing_wrong": NOTHING_WRONG,
    "stopped": STOPPED,
    "no_loss": NO_LOSS,
    "two_entries": TWO_ENTRIES,
    "fourteen": FOURTEEN,
    "negative_gap": NEGATIVE_GAP,
    "wider_than_loss": WIDER_THAN_LOSS,
}
