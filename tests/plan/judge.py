"""An independent judge of schedules: replays the pieces in time and knows nothing of the solver's model."""

from itertools import pairwise

from lostgallon.plan.access import CONDITIONS

RUNNING = {"engine_runs", "road_ready"}
EPS = 1e-9


def chain(name, states):
    found = []
    while name and name in states and name not in CONDITIONS:
        found.append(name)
        name = states[name].parent
    return set(found)


def faults(found, tasks, terms):
    """What is wrong with this schedule, in words; empty when it keeps every rule."""
    spans = _spans(found)
    opened, closed = _mode_times(found, terms)
    by_id = {task.id: task for task in tasks}
    chosen = [by_id[name] for name in sorted(found.chosen)]
    wrong = [f"{task.id} is missing" for task in tasks if task.must and task.id not in found.chosen]
    wrong += _overlaps(found.pieces) if terms.hands == 1 else _crowded(found.pieces, by_id, terms)
    for task in chosen:
        wrong += _place_faults(task, spans, opened, closed, terms)
        wrong += _order_faults(task, spans, by_id)
        wrong += _wait_faults(task, found.pieces) if task.wait_minutes else []
    return wrong + _limits(found, tasks, terms, opened)


def _overlaps(pieces):
    return [
        f"{later.owner} starts before {earlier.owner} ends"
        for earlier, later in pairwise(pieces)
        if later.start_minutes < earlier.end_minutes - EPS
    ]


def _crowded(pieces, by_id, terms):
    """More going on at once than there are hands, or anything beside a running test, a lift that moves, an engine bled."""

    def alone(piece):
        if piece.kind in {"open", "close"}:
            state = terms.states[piece.owner]
            return state.all_hands or (piece.kind == "close" and state.closing_runs)
        return piece.owner in by_id and bool(set(by_id[piece.owner].needs) & RUNNING)

    wrong = []
    for piece in pieces:
        others = [
            other
            for other in pieces
            if other is not piece
            and other.start_minutes <= piece.start_minutes + EPS
            and other.end_minutes > piece.start_minutes + EPS
            and piece.end_minutes > piece.start_minutes
        ]
        if len(others) >= terms.hands or (others and any(alone(each) for each in (piece, *others))):
            wrong.append(f"{piece.owner} beside {', '.join(other.owner for other in others)}")
    return wrong


def needed_modes(task, states):
    return set().union(*(chain(need, states) for need in task.needs)) if task.needs else set()


def _place_faults(task, spans, opened, closed, terms):
    start, end = spans[task.id]
    needed = needed_modes(task, terms.states)
    wrong = [
        f"{task.id} without {mode}"
        for mode in needed
        if not (opened.get(mode, 1e9) <= start + EPS and end <= closed.get(mode, -1.0) + EPS)
    ]
    for mode in set(opened) - needed:
        state = terms.states[mode]
        hit = set(state.blocks) & set(task.needs)
        begin = opened[mode] - state.open_minutes / 0.75
        finish = closed[mode] + state.close_minutes / 0.75
        if hit and start < finish - EPS and end > begin + EPS:
            wrong.append(f"{task.id} while {mode} is open")
        if "power_connected" in hit and start >= begin - EPS:
            wrong.append(f"{task.id} after {mode}")
    return wrong


def _order_faults(task, spans, by_id):
    start, end = spans[task.id]
    wrong = [f"{task.id} before {other}" for other in task.after if other in spans and spans[other][1] > start + EPS]
    if task.latest_minutes is not None and end > task.latest_minutes + EPS:
        wrong.append(f"{task.id} too late")
    if "intact_cold" in task.needs:
        ran = [other for other in spans if other in by_id and set(by_id[other].needs) & RUNNING]
        wrong += [f"{task.id} after the engine ran" for other in ran if spans[other][0] < end - EPS]
    return wrong


def _wait_faults(task, pieces):
    own = [piece for piece in pieces if piece.owner == task.id]
    gap = own[1].start_minutes - own[0].end_minutes
    return [] if task.wait_minutes - EPS <= gap <= task.wait_minutes + 10.0 + EPS else [f"{task.id} waits {gap}"]


def _limits(found, tasks, terms, opened):
    wrong = []
    if terms.minutes is not None and found.end_minutes > terms.minutes + EPS:
        wrong.append("late")
    chosen = [task for task in tasks if task.id in found.chosen and not task.must]
    looks = [task for task in chosen if task.kind in {"check", "drive"}]
    if sum(task.hands_minutes + task.after_minutes for task in looks) > terms.looking_minutes + EPS:
        wrong.append("looks longer than agreed")
    readings = [reading for task in chosen for reading in task.acts_on]
    if not terms.together and len(readings) != len(set(readings)):
        wrong.append("two corrections of one reading")
    if any(mode not in terms.states for mode in opened):
        wrong.append("an unknown mode")
    return wrong


def _spans(found):
    spans = {}
    for piece in found.pieces:
        start, end = spans.get(piece.owner, (1e9, -1.0))
        if piece.kind not in {"open", "close", "release"}:
            spans[piece.owner] = (min(start, piece.start_minutes), max(end, piece.end_minutes))
    return spans


def _mode_times(found, terms):
    opened = {name: 0.0 for name in terms.standing.open if name not in CONDITIONS}
    closed = {}
    release = found.pieces[-1].start_minutes
    for piece in found.pieces:
        if piece.kind == "open":
            opened[piece.owner] = piece.end_minutes
        if piece.kind == "close":
            closed[piece.owner] = piece.start_minutes
    return opened, {name: closed.get(name, release) for name in opened}


def best_by_enumeration(tasks, terms):
    """The best worth of any plan, by walking every reachable state. No waits, one pair of hands, no cold work.

    Without waits no idle minute helps, so the clock follows from what is done: a state is the set of things done.
    """
    walk = Walk(tasks, terms)
    seen, best = set(), None
    todo = [(frozenset(), walk.start_open, walk.start_open, frozenset())]
    while todo:
        state = todo.pop()
        if state in seen or walk.clock(*state[:3]) + 10.0 > terms.minutes + EPS:
            continue
        seen.add(state)
        worth = walk.worth(*state)
        best = worth if best is None or (worth is not None and worth > best) else best
        todo += [*walk.tasks_next(*state), *walk.modes_next(*state)]
    return best


class Walk:
    """The steps that may follow a state: what is done, which modes are open, which ever were."""

    def __init__(self, tasks, terms):
        self.terms, self.states = terms, terms.states
        self.tasks = {task.id: task for task in tasks}
        self.start_open = frozenset(name for name in terms.standing.open if name not in CONDITIONS)
        self.modes = set(self.start_open).union(*(needed_modes(task, self.states) for task in tasks))

    def clock(self, done, now_open, ever):
        minutes = sum(self.tasks[name].hands_minutes for name in done)
        minutes += sum(self.states[mode].open_minutes for mode in ever - self.start_open)
        return (minutes + sum(self.states[mode].close_minutes for mode in ever - now_open)) / 0.75

    def tasks_next(self, done, now_open, ever, counted):
        for name, task in self.tasks.items():
            after = done | {name}
            if name not in done and self.may(task, done, now_open, ever) and self.in_time(task, after, now_open, ever):
                end = self.clock(after, now_open, ever)
                yield after, now_open, ever, counted | {(name, lead.id) for lead in self.in_reach(task, end)}

    def in_reach(self, task, end):
        """What a look that ends now may lead to and that would still be done and closed up before the promise."""
        return [
            lead
            for lead in task.leads
            if end + self.follow(task, lead) / 0.75 + 10.0 <= self.terms.minutes + EPS and self.ever_fits(task, lead)
        ]

    def follow(self, task, lead):
        own = needed_modes(task, self.states)
        shut = {mode for mode in self.start_open - own if set(self.states[mode].blocks) & set(task.needs)}
        modes = needed_modes(lead, self.states)
        opening = sum(self.states[mode].open_minutes for mode in modes - own - (self.start_open - shut))
        return lead.minutes + opening + sum(self.states[mode].close_minutes for mode in modes)

    def ever_fits(self, task, lead):
        """Whether the look and the work fit beside what has to be done, with nothing else in the afternoon."""
        own, modes = needed_modes(task, self.states), needed_modes(lead, self.states)
        shut = {mode for mode in self.start_open - own if set(self.states[mode].blocks) & set(task.needs)}
        must = sum(each.hands_minutes for each in self.tasks.values() if each.must)
        must += sum(self.states[mode].close_minutes for mode in self.start_open)
        opened = ((own | modes) - self.start_open) | (shut & modes)
        reach = sum(self.states[mode].open_minutes + self.states[mode].close_minutes for mode in opened)
        return (must + task.hands_minutes + lead.minutes + reach) / 0.75 + 10.0 <= self.terms.minutes + EPS

    def modes_next(self, done, now_open, ever, counted):
        for mode in self.modes - ever:
            parent = self.states[mode].parent
            if parent is None or parent in now_open:
                yield done, now_open | {mode}, ever | {mode}, counted
        for mode in now_open:
            if not any(self.states[other].parent == mode for other in now_open):
                yield done, now_open - {mode}, ever, counted

    def in_time(self, task, done, now_open, ever):
        return task.latest_minutes is None or self.clock(done, now_open, ever) <= task.latest_minutes + EPS

    def may(self, task, done, now_open, ever):
        needed = needed_modes(task, self.states)
        blocked = [mode for mode in now_open - needed if set(self.states[mode].blocks) & set(task.needs)]
        cut_off = [mode for mode in ever if "power_connected" in self.states[mode].blocks]
        ran = any(set(self.tasks[name].needs) & RUNNING for name in done)
        # What must come first but comes after this is a broken order: the later step forbids the earlier one.
        broken = any(task.id in self.tasks[name].after for name in done)
        return not (
            not needed <= now_open
            or blocked
            or ("power_connected" in task.needs and cut_off)
            or ("intact_cold" in task.needs and ran)
            or broken
        )

    def worth(self, done, now_open, ever, counted):
        if now_open or any(task.must and name not in done for name, task in self.tasks.items()):
            return None
        return _worth([self.tasks[name] for name in done], self.clock(done, now_open, ever), self.terms, counted)


def _worth(chosen, clock, terms, counted):
    looks = [task for task in chosen if task.kind in {"check", "drive"} and not task.must]
    if sum(task.hands_minutes for task in looks) > terms.looking_minutes + EPS:
        return None
    readings = [reading for task in chosen for reading in task.acts_on]
    if not terms.together and len(readings) != len(set(readings)):
        return None
    worth = 0.0
    groups = {}
    for task in chosen:
        if task.must:
            continue
        value = task.value_money + sum(lead.worth_money for lead in task.leads if (task.id, lead.id) in counted)
        if task.group:
            groups.setdefault(task.group, []).append(value)
        else:
            worth += value
    for values in groups.values():
        worth += 0.5 * sum(values) + 0.5 * max(values)
    return worth - terms.money_per_minute * clock
