"""A small hand-made bay for the plan's tests: states with round minutes, tasks without a catalogue."""

from lostgallon.causes import records
from lostgallon.plan.access import Standing
from lostgallon.plan.work import Task, Terms

RUN = ("engine_runs", "road_ready")


def state(name, what, opening, closing, parent=None, blocks=()):
    return records.State(name, what, opening, closing, "trade_practice", parent, blocks)


# Minutes are round numbers made up for the tests.
STATES = {
    made.id: made
    for made in (
        state("lifted", "lift the vehicle", 3.0, 3.0, None, ("road_ready",)),
        state("wheels_off", "take the wheels off", 6.0, 6.0, "lifted", ("road_ready",)),
        state("coils_off", "take the coils off", 6.0, 6.0, None, RUN),
        state("plugs_out", "take the plugs out", 6.0, 9.0, "coils_off", RUN),
        state("intake_duct_off", "open the intake duct", 3.0, 3.0, None, RUN),
        state("coolant_drained", "drain the coolant", 9.0, 15.0, None, RUN),
        state("exhaust_open", "open the exhaust", 15.0, 15.0, "lifted", RUN),
        state("battery_off", "disconnect the battery", 3.0, 6.0, None, (*RUN, "power_connected")),
    )
}
CLOSED = Standing(open=frozenset({"power_connected"}), by_booked=frozenset(), lost={})


def standing(*names: str) -> Standing:
    return Standing(open=frozenset({"power_connected", *names}), by_booked=frozenset(names), lost={})


def terms(minutes: float | None = 120.0, *names: str, **changes: object) -> Terms:
    return Terms(states=STATES, standing=standing(*names), minutes=minutes, **changes)


def booked(minutes: float, *needs: str) -> Task:
    return Task("booked", "the booked job", "booked", minutes, needs=needs, must=True)


def check(name: str, minutes: float, value: float, *needs: str, **more: object) -> Task:
    return Task(name, name, "check", minutes, needs=needs, value_money=value, **more)


def correction(name: str, minutes: float, value: float, *needs: str, **more: object) -> Task:
    return Task(name, name, "correction", minutes, needs=needs, value_money=value, **more)
