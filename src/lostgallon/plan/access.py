"""What is open now, what a step costs now against alone, and what blocks what.

A price for shared access is never typed as a discount. It follows from which states a step needs, which of them are
open anyway, and what opening and closing the others takes.

Two kinds of state. A *mode* is opened and closed by hand and costs minutes (lifted, wheels_off, coolant_drained).
A *condition* holds by itself until something ends it (intact_cold, hot_arrival, power_connected, engine_runs).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from lostgallon.causes.records import State
from lostgallon.shop.visit import Case, StateChange

ENGINE_RUNS, ROAD_READY = "engine_runs", "road_ready"
INTACT_COLD, HOT_ARRIVAL, POWER = "intact_cold", "hot_arrival", "power_connected"
CONDITIONS = frozenset({ENGINE_RUNS, ROAD_READY, INTACT_COLD, HOT_ARRIVAL, POWER})
NEVER_WAS = {
    INTACT_COLD: "the engine was not cold from a night when the vehicle came in",
    HOT_ARRIVAL: "the vehicle did not come in straight from a drive",
}
"""Conditions that hold only where the case says so: nobody can assume a cold-soaked or a just driven vehicle."""
GONE_SINCE = {INTACT_COLD: "the engine has run since", HOT_ARRIVAL: "the wheels have cooled since"}
HOT_ARRIVAL_MINUTES = 12.0
"""How long wheel heat on arrival can be read; common practice (10 to 15 min), no source."""
RUNNING = frozenset({ENGINE_RUNS, ROAD_READY})


States = Mapping[str, State]


@dataclass(frozen=True)
class Standing:
    """How the vehicle stands at a moment.

    Attributes:
        open: Modes that are open and conditions that hold.
        by_booked: The modes among them that the booked job opened and closes itself.
        lost: Conditions that can't come back during this visit, with the reason.
        hot_minutes_left: Minutes for which arrival heat can still be read, or None.
    """

    open: frozenset[str]
    by_booked: frozenset[str]
    lost: Mapping[str, str]
    hot_minutes_left: float | None = None


def with_parents(names: Iterable[str], states: States) -> tuple[str, ...]:
    """The modes that these states need, parents first, without conditions; each once."""
    chain: list[str] = []

    def climb(name: str) -> None:
        state = states.get(name)
        if state is None or name in CONDITIONS or name in chain:
            return
        if state.parent:
            climb(state.parent)
        chain.append(name)

    for name in names:
        climb(name)
    return tuple(chain)


def _so_far(case: Case) -> list[StateChange]:
    now = case.visit.now
    past = [change for change in case.states if now is None or change.at <= now]
    return sorted(past, key=lambda change: change.at)


def _ids(names: Iterable[str], states: States) -> set[str]:
    """States by their own ids: a modes' parents with it, conditions as they are."""
    known = {states[name].id if name in states else name for name in names}
    return set(with_parents(known, states)) | (known & CONDITIONS)


def _lost(changes: Iterable[StateChange], apart: set[str], open_now: set[str], *, states: States) -> dict[str, str]:
    opened = apart.union(*(_ids(change.opened, states) for change in changes))
    lost = {name: why for name, why in NEVER_WAS.items() if name not in open_now}
    lost |= {name: GONE_SINCE[name] for name in lost if name in opened}
    if "battery_off" in opened:
        lost[POWER] = "the battery was disconnected"
    return lost


def _hot_minutes_left(case: Case, changes: Iterable[StateChange]) -> float | None:
    arrivals = [change.at for change in changes if HOT_ARRIVAL in change.opened]
    if not arrivals or case.visit.now is None:
        return HOT_ARRIVAL_MINUTES if HOT_ARRIVAL in case.booked.apart else None
    return HOT_ARRIVAL_MINUTES - (case.visit.now - arrivals[-1]) / timedelta(minutes=1)


def standing(case: Case, states: States) -> Standing:
    """How the vehicle stands now: what the booked job has apart, and what was opened and closed since.

    Changes later than the case's own `now` are not applied yet.
    """
    apart, changes = _ids(case.booked.apart, states), _so_far(case)
    open_now = set(apart)
    for change in changes:
        open_now |= _ids(change.opened, states)
        open_now -= {states[name].id if name in states else name for name in change.closed}
    hot = _hot_minutes_left(case, changes)
    if hot is not None and hot <= 0:
        open_now.discard(HOT_ARRIVAL)
    lost = _lost(changes, apart, open_now, states=states)
    if POWER not in lost:
        open_now.add(POWER)
    return Standing(
        open=frozenset(open_now),
        by_booked=frozenset((apart - CONDITIONS) & open_now),
        lost=lost,
        hot_minutes_left=hot if HOT_ARRIVAL in open_now else None,
    )


def standing_at(case: Case, states: States, at: datetime | None) -> Standing:
    """How the vehicle stood at a moment of the visit; as it stands now where none is given."""
    return standing(case if at is None else replace(case, visit=replace(case.visit, now=at)), states)


def ever_open(case: Case, states: States) -> frozenset[str]:
    """Every mode that was opened on this visit so far, by the booked job or since."""
    opened = _ids(case.booked.apart, states).union(*(_ids(change.opened, states) for change in _so_far(case)))
    return frozenset(opened - CONDITIONS)


def reach_minutes(needs: Iterable[str], states: States, *, standing: Standing | None = None) -> float:
    """Minutes of opening and closing that a step causes, beside its own work.

    Args:
        needs: States that the step needs.
        states: All access states.
        standing: How the vehicle stands; None for a vehicle with everything closed ("alone").

    Returns:
        The sum over the modes that are not open anyway. A mode that is open has its closing owed already.
    """
    already = standing.open if standing else frozenset()
    missing = [states[name] for name in with_parents(needs, states) if name not in already]
    return sum(open_minutes(state) + close_minutes(state) for state in missing)


def open_minutes(state: State) -> float:
    """Hands-on minutes of opening a mode."""
    return state.open_minutes or 0.0


def close_minutes(state: State) -> float:
    """Hands-on minutes of closing a mode, with what has to be filled and bled."""
    return state.close_minutes or 0.0


def blocked_by(needs: Iterable[str], states: States, *, standing: Standing) -> tuple[str, ...]:
    """The open modes that have to be closed before a step with these needs can be made."""
    wanted = set(needs) & CONDITIONS
    return tuple(sorted(name for name in standing.open - CONDITIONS if set(states[name].blocks) & wanted))


def impossible(needs: Iterable[str], *, standing: Standing) -> str:
    """Why a step can't be made during this visit any more, in words; empty where it can."""
    reasons = [standing.lost[name] for name in needs if name in standing.lost]
    return reasons[0] if reasons else ""


def cautions_for(needs: Iterable[str], own: Iterable[str], *, states: States) -> tuple[str, ...]:
    """Caution ids of a step: those of every state it stands in, then its own, each once."""
    listed: list[str] = []
    wanted = list(needs)
    for name in [*with_parents(wanted, states), *(need for need in wanted if need in CONDITIONS)]:
        listed.extend(states[name].cautions if name in states else ())
    listed.extend(own)
    return tuple(dict.fromkeys(listed))
