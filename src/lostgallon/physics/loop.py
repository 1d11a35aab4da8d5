"""The time loop of trip.py once more, step by step and lane by lane, in the form that a compiler takes.

Same equations in the same order, so that both give the same digits and no result tells which of the two ran. Plain
Python with no compiler in sight; compiled.py makes machine code of it.
"""

import numpy as np

from lostgallon.physics.tires import RUNNING_REFERENCE_C
from lostgallon.physics.trip import OVERRUN_M_S, OVERRUN_W
from lostgallon.physics.warm_up import DRIVELINE_WARM_C, RATING_C

WIDTH = 64  # lanes side by side: enough to fill vector registers, few enough to stay in the first cache
# The scratch is one array, and what a choice picks from is read before it is made: so a compiler sees that no two
# rows overlap and that reading is harmless, and works on eight lanes at once.
ROAD, SPIN, FRICTION, RICH, IDLE, STANDING, NEED, WAY, LOCKED, TOP = range(10)  # rows of the scratch: a block's own
FASTER, LINEAR, SQUARE, INERTIA, OPEN, LOCK, LUG, LOW, SHIFT, RUB, RUB_MORE, KEPT, LOAD, FROM, STRAIN = range(10, 25)


def leg(lanes, steps, scale, now, done, span) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001, PLR0915 - one loop is one function to a compiler; it finds the types
    """Drive a leg for the lanes from span[0] up to span[1], changing `now` and `done` in place.

    Args:
        lanes: A named tuple with the fields of Lanes, each of shape (lanes,).
        steps: Steps of the trace.
        scale: Share of each block that each lane drives, shape (lanes,).
        now: Engine, driveline, tire temperature and engine drift, shape (4, lanes). [degC, K]
        done: Fuel and distance so far, shape (2, lanes). [J, m]
        span: First lane and the one after the last.

    Source: the equations of trip.py and warm_up.py.
    """
    at = np.ones((25, WIDTH))
    for start in range(span[0], span[1], WIDTH):
        count = min(WIDTH, span[1] - start)
        for i in range(count):
            k = start + i
            at[FASTER, i], at[LOCK, i] = lanes.speed_added_m_s[k], lanes.lock_speed_m_s[k]
            at[LINEAR, i], at[INERTIA, i], at[OPEN, i] = lanes.linear_n_s_m[k], lanes.inertia_kg[k], lanes.gain_open[k]
            at[SQUARE, i], at[LOAD, i], at[STRAIN, i] = lanes.square_n_s2_m2[k], lanes.load_w[k], lanes.strain[k]
            at[FROM, i], at[LUG, i], at[KEPT, i] = lanes.strain_from_w[k], lanes.lug_rpm[k], 1.0 - lanes.overrun_cut[k]
            at[RUB, i], at[RUB_MORE, i] = lanes.friction_a_w_per_rpm[k], lanes.friction_b_w_per_rpm2[k]
            at[LOW, i], at[SHIFT, i] = lanes.low_rpm_s_m[k], lanes.shift_rpm_per_w[k]
        for block in range(steps.standing_s.size):
            for i in range(count):
                k = start + i
                ahead = now[0, k] + 0.5 * now[3, k]
                unlocked = lanes.unlocked[k] if ahead < lanes.lock_from_c[k] else 1.0
                cold = max(RATING_C - ahead, 0.0) / 100.0
                believed = cold + lanes.cold_reading[k] * max((RATING_C - lanes.ambient_c[k]) / 100.0 - cold, 0.0)
                stiff, warmer = max(DRIVELINE_WARM_C - now[1, k], 0.0) / 100.0, now[2, k] - RUNNING_REFERENCE_C
                at[ROAD, i] = lanes.tire_n[k] * (1.0 - lanes.tire_per_k[k] * warmer) + lanes.steady_n[k]
                at[SPIN, i] = lanes.spin_n[k] * stiff * (lanes.cold_linear[k] + lanes.cold_cubic[k] * stiff * stiff)
                at[FRICTION, i] = 1.0 + cold * (lanes.cold_linear[k] + lanes.cold_cubic[k] * cold * cold)
                at[RICH, i] = 1.0 + lanes.enrichment[k] * believed * believed
                rpm = lanes.idle_rpm[k] * (1.0 + lanes.idle_cold[k] * believed * believed)
                friction = rpm * (lanes.friction_a_w_per_rpm[k] + lanes.friction_b_w_per_rpm2[k] * rpm)
                at[STANDING, i] = lanes.load_w[k] + lanes.idle_load_w[k] + friction * at[FRICTION, i]
                at[LOCKED, i], at[TOP, i] = lanes.gain_locked[k] * unlocked, lanes.top_rpm_s_m[k] * unlocked
                at[IDLE, i], at[NEED, i], at[WAY, i] = rpm, 0.0, 0.0
            for step in range(steps.first[block], steps.first[block + 1]):
                slow, change, fast = steps.speed_m_s[step], steps.acceleration_m_s2[step], steps.fast[step]
                for i in range(count):
                    speed = slow + at[FASTER, i] * fast
                    wheel = speed * (at[ROAD, i] + speed * (at[LINEAR, i] + at[SQUARE, i] * speed))
                    wheel = wheel + at[INERTIA, i] * (change * speed)
                    pull = max(wheel + at[SPIN, i] * speed, 0.0)
                    opened, locked, saved = at[OPEN, i], at[LOCKED, i], at[KEPT, i]
                    engine = pull * (opened if speed < at[LOCK, i] else locked)
                    rpm = min(at[LUG, i], at[LOW, i] * speed)
                    rpm = max(rpm, at[TOP, i] * speed, at[SHIFT, i] * engine, at[IDLE, i])
                    friction = rpm * (at[RUB, i] + at[RUB_MORE, i] * rpm)
                    kept = saved if (wheel < OVERRUN_W) & (speed > OVERRUN_M_S) else 1.0
                    strained = at[STRAIN, i] * max(engine - at[FROM, i], 0.0)
                    at[NEED, i] += (engine + strained + at[LOAD, i] + friction * at[FRICTION, i]) * kept
                    at[WAY, i] += speed
            length, mean = steps.length_s[block], steps.mean_m_s[block]
            for i in range(count):
                k = start + i
                fuel = (at[NEED, i] + at[STANDING, i] * steps.standing_s[block]) * (at[RICH, i] * lanes.fuel_per_w[k])
                rise, driven = now[0, k] - lanes.ambient_c[k], scale[k] * length
                heat = lanes.heat_share[k] * (fuel / length)
                loss = lanes.loss_w_per_k[k] + lanes.loss_per_speed[k] * mean
                decay = driven * loss / lanes.heat_capacity_j_per_k[k]
                warmer = min(now[0, k] + (heat / loss - rise) * decay / (1.0 + 0.5 * decay), lanes.plateau_c[k])
                now[3, k], now[0, k] = warmer - now[0, k], warmer
                end = lanes.ambient_c[k] + lanes.driveline_share[k] * rise + 0.5 * mean
                turns = driven / lanes.driveline_s[k]
                now[1, k] += (end - now[1, k]) * turns / (1.0 + 0.5 * turns)
                turns, end = driven / lanes.tire_s[k], lanes.ambient_c[k] + lanes.tire_rise_k_s_m[k] * mean
                now[2, k] += (end - now[2, k]) * turns / (1.0 + 0.5 * turns)
                done[0, k], done[1, k] = done[0, k] + fuel * scale[k], done[1, k] + at[WAY, i] * scale[k]
