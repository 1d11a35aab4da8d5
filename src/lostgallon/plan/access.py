"""What is open now, what a step costs now against alone, and what blocks what.

A price for shared access is never typed as a discount. It follows from which states a step needs, which of them are
open anyway, and what opening and closing the others takes.

Two kinds of state. A *mode* is opened and closed by hand and costs minutes (lifted, wheels_off, coolant_drained).
A *condition* holds by itself until something ends it (intact_cold, hot_arrival, power_connected, engine_runs).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from lostgallon.shop.visit import Case

ENGINE_RUNS, ROAD_READY = "engine_runs", "road_ready"
INTACT_COLD, HOT_ARRIVAL, POWER = "intact_cold", "hot_arrival", "power_connected"
CONDITIONS = frozenset({ENGINE_RUNS, ROAD_READY, INTACT_COLD, HOT_ARRIVAL, POWER})
ONLY_IF_SAID = frozenset({INTACT_COLD, HOT_ARRIVAL})
"""Conditions that hold only where the case says so: nobody can assume a cold-soaked or a just driven vehicle."""
HOT_ARRIVAL_MINUTES = 12.0
"""How long wheel heat on arrival can be read; common practice (10 to 15 min), no source."""
RUNNING = frozenset({ENGINE_RUNS, ROAD_READY})


class StateLike(Protocol):
    """What the plan reads of an access state of the catalogue."""

    @property
    def id(self) -> str: ...  # noqa: D102 - fields of the catalogue record
    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def open_minutes(self) -> float: ...  # noqa: D102
    @property
    def close_minutes(self) -> float: ...  # noqa: D102
    @property
    def parent(self) -> str | None: ...  # noqa: D102
    @property
    def blocks(self) -> tuple[str, ...]: ...  # noqa: D102


States = Mapping[str, StateLike]


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


def _lost_at_start(case: Case, now_open: set[str]) -> dict[str, str]:
    lost: dict[str, str] = {}
    ever = set(case.booked.apart) | {name for change in case.states for name in change.opened}
    closed = {name for change in case.states for name in change.closed}
    if "battery_off" in ever:
        lost[POWER] = "the battery was disconnected"
    for name in ONLY_IF_SAID - now_open:
        lost[name] = "gone since the vehicle came in" if name in closed else "not the case when the vehicle came in"
    return lost


def _hot_minutes_left(case: Case, now: datetime | None) -> float | None:
    arrivals = [change.at for change in case.states if HOT_ARRIVAL in change.opened]
    if not arrivals or now is None:
        return HOT_ARRIVAL_MINUTES if HOT_ARRIVAL in case.booked.apart else None
    return HOT_ARRIVAL_MINUTES - (now - arrivals[-1]) / timedelta(minutes=1)


def standing(case: Case, states: States) -> Standing:
    """How the vehicle stands now: what the booked job has apart, and what was opened and closed since.

    Changes later than the case's own `now` are not applied yet.
    """
    now = case.visit.now
    open_now = set(with_parents(case.booked.apart, states)) | (set(case.booked.apart) & CONDITIONS)
    by_booked = frozenset(open_now - CONDITIONS)
    for change in sorted(case.states, key=lambda change: change.at):
        if now is not None and change.at > now:
            continue
        open_now |= set(with_parents(change.opened, states)) | (set(change.opened) & CONDITIONS)
        open_now -= set(change.closed)
    hot = _hot_minutes_left(case, now)
    if hot is not None and hot <= 0:
        open_now.discard(HOT_ARRIVAL)
    lost = _lost_at_start(case, open_now)
    if POWER not in lost:
        open_now.add(POWER)
    hot_left = hot if HOT_ARRIVAL in open_now else None
    return Standing(
        open=frozenset(open_now), by_booked=by_booked & frozenset(open_now), lost=lost, hot_minutes_left=hot_left
    )


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
    return sum(state.open_minutes + state.close_minutes for state in missing)


def blocked_by(needs: Iterable[str], states: States, *, standing: Standing) -> tuple[str, ...]:
    """The open modes that have to be closed before a step with these needs can be made."""
    wanted = set(needs) & CONDITIONS
    return tuple(sorted(name for name in standing.open - CONDITIONS if set(states[name].blocks) & wanted))


def impossible(needs: Iterable[str], *, standing: Standing) -> str:
    """Why a step can't be made during this visit any more, in words; empty where it can."""
    reasons = [standing.lost[name] for name in needs if name in standing.lost]
    return reasons[0] if reasons else ""


def cautions_for(
    needs: Iterable[str], own: Iterable[str], *, states: States, state_cautions: Mapping[str, tuple[str, ...]]
) -> tuple[str, ...]:
    """Caution ids of a step: those of every state it stands in, then its own, each once."""
    listed: list[str] = []
    wanted = list(needs)
    for name in [*with_parents(wanted, states), *(need for need in wanted if need in CONDITIONS)]:
        listed.extend(state_cautions.get(name, ()))
    listed.extend(own)
    return tuple(dict.fromkeys(listed))
