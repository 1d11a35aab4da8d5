"""How the vehicle stands now, for whoever takes over in mid-job: what is open, what it forbids, what is left."""

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.worth import looking_minutes_left
from lostgallon.plan.access import CONDITIONS, ENGINE_RUNS, POWER, ROAD_READY, Standing
from lostgallon.shop.visit import Case

FORBIDS = {
    ENGINE_RUNS: "Do not start the engine before this is closed",
    ROAD_READY: "Do not drive it before this is closed",
}


def stands_in_words(case: Case, standing: Standing, catalogue: Catalogue) -> tuple[str, ...]:
    """What a second technician has to know before touching anything, one sentence each.

    Args:
        case: For what is left of the booked job and of the looking limit, and for what the owner agreed to.
        standing: How the vehicle stands.
        catalogue: For the names of what is open and what it keeps from running.
    """
    modes = [catalogue.state[name] for name in sorted(standing.open - CONDITIONS)]
    lines = [f"Open: {'; '.join(mode.name for mode in modes)}" if modes else "Everything closed"]
    starts = [mode.name for mode in modes if ENGINE_RUNS in mode.blocks]
    drives = [mode.name for mode in modes if ROAD_READY in mode.blocks and ENGINE_RUNS not in mode.blocks]
    lines += [
        f"{FORBIDS[condition]}: {'; '.join(names)}"
        for condition, names in ((ENGINE_RUNS, starts), (ROAD_READY, drives))
        if names
    ]
    if standing.hot_minutes_left is not None:
        lines.append(f"Wheel heat of the drive can be read for {standing.hot_minutes_left:.0f} min more")
    if POWER in standing.lost:
        lines.append("The battery was off: what the module kept is gone")
    return (*lines, *_left(case, catalogue))


def _left(case: Case, catalogue: Catalogue) -> list[str]:
    lines = []
    if case.booked.minutes_left:
        lines.append(f"Of the booked job about {case.booked.minutes_left:.0f} min are left")
    looking = looking_minutes_left(case, catalogue)
    if looking is not None:
        lines.append(f"Of the looking that was agreed {looking:.0f} min are left")
    done = [catalogue.operation[work.operation].name for work in case.work_done]
    if done:
        lines.append(f"Done beside the booked job: {'; '.join(dict.fromkeys(done))}")
    names = [catalogue.operation[each.operation].name for each in case.agreed if case.done(each.operation) is None]
    if done and not names:
        return lines
    lines.append(f"Agreed beside the booked job: {'; '.join(names)}" if names else "No extra work is agreed to yet")
    return lines
