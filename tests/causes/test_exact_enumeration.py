"""The moved population against every story counted out, on parts of ten causes.

Bounds of 0.015 at 4096 draws and 0.005 at 16 384 are the project's own. The counting (tests/causes/worlds.py) shares
no code with the program but the catalogue's records.
"""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.causes.weighing import weigh
from tests.causes.worlds import StraightEffects, case_with, counted_out, found, normal, part_of_catalogue

ENGINE = (
    "worn_spark_plugs",
    "ignition_coil_boot",
    "air_flow_sensor_biased",
    "vacuum_leak",
    "oxygen_sensor_fault",
    "exhaust_leak_upstream",
    "thermostat_stuck_open",
    "low_compression",
    "knock_retard",
    "short_trips",
)
CHASSIS = (
    "dragging_brake",
    "wheel_bearing",
    "misalignment",
    "new_tires",
    "tire_diameter_change",
    "torque_converter_clutch_off",
    "four_wheel_drive_engaged",
    "aero_load",
    "cargo_trailer",
    "route_traffic_driver",
)
WORLDS = {
    "nothing found yet": (ENGINE, (), 0.12, ()),
    "two causes compete for a misfire": (ENGINE, (found("misfire_counts", "one_cylinder"),), 0.10, ()),
    "explaining away": (
        ENGINE,
        (found("trims_three", "lean_idle_ok_cruise"), found("smoke", "intake_leak"), normal("plug_read")),
        0.15,
        (),
    ),
    "two rare causes and no loss": (
        ENGINE,
        (found("compression", "low_or_uneven"), found("warmup_trace", "never_reaches_rating")),
        0.0,
        (),
    ),
    "chassis, many looks": (
        CHASSIS,
        (found("wheel_spin", "one_wheel_stiff"), normal("tcc_road"), found("ask_tires_when", "tires_changed")),
        0.20,
        (),
    ),
    "a dragging wheel and its look-alike": (
        CHASSIS[:9],
        (found("wheel_end_temps", "disc_hotter"), found("wheel_spin", "one_wheel_stiff")),
        0.08,
        ("drag",),
    ),
}


def _world(name):
    causes, findings, rise, looks = WORLDS[name]
    whole = part_of_catalogue(causes, look_alikes=True)
    whole = replace(whole, look_alikes=tuple(look for look in whole.look_alikes if look.id in looks))
    effects = {cause.id: np.log1p(max(cause.effect_pct.typical, 0.3) / 100.0) for cause in whole.causes}
    return whole, case_with(findings, rise=rise), effects


class EffectByCause(StraightEffects):
    """Causes that share a condition are told apart by the median amount each makes of it."""

    def __init__(self, whole, effects):
        super().__init__({})
        tables = {}
        for cause in whole.causes:
            tables.setdefault(cause.condition, []).append((cause.severity.p50, effects[cause.id]))
        object.__setattr__(self, "tables", tables)

    def log_effect(self, condition, amount, member):
        sizes, logs = (np.array(part) for part in zip(*sorted(self.tables[condition]), strict=True))
        return logs[np.abs(sizes[:, None] - amount).argmin(axis=0)]

    def total_log(self, amounts, member):
        """Effects of all causes that make up the amounts, added."""
        total = 0.0
        for condition, amount in amounts.items():
            sizes, logs = (np.array(part) for part in zip(*self.tables[condition], strict=True))
            choices = np.array(list(product((0, 1), repeat=sizes.size)))
            total = total + (choices @ logs)[np.abs((choices @ sizes)[:, None] - amount).argmin(axis=0)]
        return total


def _worst_error(name, draws, seed):
    whole, case, effects = _world(name)
    weighing = weigh(case, EffectByCause(whole, effects), whole, rng=np.random.default_rng(seed), draws=draws)
    scale = whole.number["prior_odds_scale"]
    priors = {}
    for cause in whole.causes:
        here = prior_here(cause, facts_of(case), odds_scale=scale)
        priors[cause.id] = (here.new, here.old)
    looks = {look.id: (look.prior, look.detect) for look in whole.look_alikes}
    exact = counted_out(whole, priors, effects, case, looks)
    return max(abs(weighing.presence[n] - exact[cause.id]) for n, cause in enumerate(whole.causes))


@pytest.mark.parametrize("name", WORLDS)
def test_presence_agrees_with_counting_every_story(name):
    assert _worst_error(name, 4096, 1) <= 0.015
    assert _worst_error(name, 16384, 2) <= 0.005
