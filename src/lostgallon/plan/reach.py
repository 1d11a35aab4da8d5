"""How a check is reached as the vehicle stands: minutes of opening and closing, what is in its way, what is gone."""

from collections.abc import Callable

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Check
from lostgallon.causes.worth import Reach
from lostgallon.plan.access import HOT_ARRIVAL, blocked_by, impossible, reach_minutes, standing
from lostgallon.shop.visit import Case


def reach_of(case: Case, catalogue: Catalogue) -> Callable[[Check], Reach]:
    """A function from a check to what it takes to get to it now.

    Args:
        case: The case: what is apart, and what was opened and closed until now.
        catalogue: The catalogue with its states.
    """
    states = catalogue.state
    stands = standing(case, states)

    def reach(check: Check) -> Reach:
        perishing = check.perishes is not None and check.perishes.state == HOT_ARRIVAL
        return Reach(
            minutes=reach_minutes(check.needs, states, standing=stands),
            blocked_by=blocked_by(check.needs, states, standing=stands),
            impossible=impossible(check.needs, standing=stands),
            minutes_left=stands.hot_minutes_left if perishing else None,
        )

    return reach
