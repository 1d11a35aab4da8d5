"""Ways to a correction: what has to be open and the hands-on minutes there; what it costs alone and what now.

The catalogue gives an operation's hands-on minutes for every state that makes it reachable (plugs through coils off
or through plenum off). Opening and closing come from the states. Nothing here is a discount: the same two sums with
a different vehicle in front of them.
"""

from dataclasses import dataclass

from lostgallon.causes.records import Operation
from lostgallon.plan.access import Standing, States, impossible, reach_minutes, with_parents


@dataclass(frozen=True)
class Way:
    """One way to do an operation: the states it needs and its hands-on minutes there."""

    needs: tuple[str, ...]
    minutes: float


def ways(operation: Operation, states: States) -> tuple[Way, ...]:
    """Every way to an operation, in the order of the catalogue.

    A state that the operation opens by itself leads to the whole of what it opens; any other state is a way of its
    own. Where no own way is given the work is what the trade's figure leaves after opening and closing.
    """
    through = dict(operation.minutes_open)
    found = [
        Way((*operation.needs, state), minutes) for state, minutes in through.items() if state not in operation.opens
    ]
    own = [through[state] for state in operation.opens if state in through]
    rest = operation.minutes_alone - reach_minutes(operation.opens, states)
    hands = min(own) if own else max(rest, 0.0)
    return (Way((*operation.needs, *operation.opens), hands), *found)


def minutes_alone(operation: Operation, states: States) -> float:
    """Minutes of the cheapest way from a vehicle with everything closed."""
    return min(way.minutes + reach_minutes(way.needs, states) for way in ways(operation, states))


def way_now(operation: Operation, states: States, *, standing: Standing) -> Way:
    """The cheapest way as the vehicle stands; ways that can't be had any more come last."""
    return min(
        ways(operation, states),
        key=lambda way: (
            bool(impossible(way.needs, standing=standing)),
            way.minutes + reach_minutes(way.needs, states, standing=standing),
        ),
    )


def minutes_now(operation: Operation, states: States, *, standing: Standing) -> float:
    """Minutes of the cheapest way as the vehicle stands."""
    way = way_now(operation, states, standing=standing)
    return way.minutes + reach_minutes(way.needs, states, standing=standing)


def is_cold_work(operation: Operation, way: Way, states: States) -> bool:
    """Whether this must not be begun on a hot engine, by itself or through what it opens."""
    return operation.cold_engine or any(states[name].cold_engine for name in with_parents(way.needs, states))
