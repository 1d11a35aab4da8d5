"""Reading values round after round at the best rate the modules allow: several in one request where they take it.

A round asks every fast group and one slow group. A group that is refused, garbled or not answered is halved, down to
single parameters; a parameter that does not answer alone either is left out, and said.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from lostgallon.port.answers import Garbled, values_of
from lostgallon.port.discovery import CURRENT, ENGINE_SPEED, Vehicle
from lostgallon.port.line import Line

MOST_IN_ONE = 6
"""Parameters that one request of service 01 may hold on CAN (SAE J1979)."""
FAST_WHEN_ALONE = 8
"""Fast parameters kept fast where only one fits a request; the others go slow."""
TRIES, TRIES_ONCE_ANSWERED = 3, 20
"""A request that worked once works; what it misses later, the bus lost."""
GIVEN_UP_AFTER = 2
SHORTEST_ROUND_S = 0.05
"""Twenty rounds a second are more than any saying needs; a module is not asked faster (docs/port.md)."""
SILENT_S = 2.0
"""Without any answer for so long the vehicle counts as silent."""
KNOCK_S = 0.5


@dataclass
class Group:
    """Parameters asked of one module in one request.

    `misses` counts how often in a row nothing usable came; one that has answered before is given more of them.
    """

    module: int
    pids: tuple[int, ...]
    misses: int = 0
    answered: bool = False

    @property
    def given_up(self) -> bool:
        """Whether it has to be asked in another way."""
        return self.misses >= (TRIES_ONCE_ANSWERED if self.answered else TRIES)


@dataclass(frozen=True)
class Round:
    """One round: when it began, and the values read, by channel, in the port's units. [s]"""

    at_s: float
    values: dict[str, float]


@dataclass
class Poller:
    """Rounds of one vehicle.

    Attributes:
        line: The line.
        vehicle: What was discovered.
        wait_back_s: How long a silent vehicle is waited for before the rounds end.
        fast: Groups asked in every round.
        slow: Groups asked in turn.
        remarks: What was left out, in words.
    """

    line: Line
    vehicle: Vehicle
    wait_back_s: float
    fast: list[Group] = field(default_factory=list)
    slow: list[Group] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    _next_slow: int = 0

    def __post_init__(self) -> None:
        self.fast = self._grouped(self._wanted("fast"))
        self.slow = self._grouped(self._wanted("slow"))

    @property
    def channels(self) -> tuple[str, ...]:
        """Channels that are asked for, in the order of the table."""
        pids = {pid for group in (*self.fast, *self.slow) for pid in group.pids}
        return tuple(one.channel for pid, one in self.vehicle.known.items() if pid in pids)

    def rounds(self) -> Iterator[Round]:
        """Rounds until the vehicle has been silent for too long; a round without values says that it is silent.

        Raises:
            PortLost: If the adapter can't be used any more.
        """
        heard_s = self.line.clock_s()
        while True:
            began_s = self.line.clock_s()
            values = self._round()
            yield Round(began_s, values)
            now_s = self.line.clock_s()
            if values:
                heard_s = now_s
            elif now_s - heard_s > SILENT_S + self.wait_back_s:
                return
            elif now_s - heard_s > SILENT_S:
                self.line.pause(KNOCK_S)
            self.line.pause(max(began_s + SHORTEST_ROUND_S - self.line.clock_s(), 0.0))

    def _round(self) -> dict[str, float]:
        values: dict[str, float] = {}
        turn = [self.slow[self._next_slow % len(self.slow)]] if self.slow else []
        self._next_slow += 1
        missed: list[Group] = []
        for group in [*self.fast, *turn]:
            read = self._read(group)
            if read is None:
                missed.append(group)
                if not values and len(missed) == GIVEN_UP_AFTER and not self._answers_at_all():
                    return {}
            else:
                values |= read
        for group in missed if values or self._answers_at_all() else ():
            self._missed(group)
        return values

    def _answers_at_all(self) -> bool:
        """Whether the vehicle is there: it may be silent only about requests for several parameters."""
        engine = self.vehicle.engine
        return self.line.ask(bytes([CURRENT, ENGINE_SPEED]), module=engine).anything

    def _read(self, group: Group) -> dict[str, float] | None:
        """Values of a group by channel; None where nothing usable came."""
        heard = self.line.ask(bytes([CURRENT, *group.pids]), module=group.module)
        for answer in heard.answers:
            try:
                data = values_of(answer.payload, group.pids, self.vehicle.known)
            except Garbled:
                self.line.strays.note("garbled: values")
                continue
            group.misses, group.answered = 0, True
            known = self.vehicle.known
            return {known[pid].channel: known[pid].value(raw) for pid, raw in data.items()}
        if heard.refusals:
            # A refusal is meant; it is not the bus that lost something.
            group.misses, group.answered = TRIES, False
        return None

    def _missed(self, group: Group) -> None:
        group.misses += 1
        if not group.given_up:
            return
        for groups in (self.fast, self.slow):
            if group in groups:
                at = groups.index(group)
                groups[at : at + 1] = self._halves(group)
        self._thin_out()

    def _halves(self, group: Group) -> list[Group]:
        if len(group.pids) > 1:
            middle = (len(group.pids) + 1) // 2
            return [Group(group.module, group.pids[:middle]), Group(group.module, group.pids[middle:])]
        self.remarks.append(f"{self.vehicle.known[group.pids[0]].name}: supported, but not answered")
        return []

    def _thin_out(self) -> None:
        """Where only single parameters go, the less needed of the fast ones take turns with the slow ones."""
        single = all(len(group.pids) == 1 for group in self.fast)
        if single and len(self.fast) > FAST_WHEN_ALONE:
            self.fast, rest = self.fast[:FAST_WHEN_ALONE], self.fast[FAST_WHEN_ALONE:]
            self.slow += rest

    def _wanted(self, turn: str) -> list[tuple[int, int]]:
        """(module, parameter) of every supported channel, each channel once, in the order of need."""
        found: dict[str, tuple[int, int]] = {}
        for pid, parameter in self.vehicle.known.items():
            module = self.vehicle.module_for(pid)
            if parameter.channel and module is not None:
                found.setdefault(parameter.channel, (module, pid))
        return [(module, pid) for module, pid in found.values() if self.vehicle.known[pid].turn == turn]

    def _grouped(self, wanted: Sequence[tuple[int, int]]) -> list[Group]:
        groups: list[Group] = []
        for module in dict.fromkeys(module for module, _ in wanted):
            pids = [pid for of, pid in wanted if of == module]
            together = [pid for pid in pids if self.vehicle.known[pid].length]
            cut = range(0, len(together), MOST_IN_ONE)
            groups += [Group(module, tuple(together[at : at + MOST_IN_ONE])) for at in cut]
            groups += [Group(module, (pid,)) for pid in pids if not self.vehicle.known[pid].length]
        return groups
