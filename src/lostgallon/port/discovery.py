"""What the vehicle's modules are and what they support, asked before anything is read."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from lostgallon.port.answers import GROUP, Garbled, by_compression, supported, values_of
from lostgallon.port.line import Line
from lostgallon.port.parameters import (
    LARGEST_AIR_FLOW,
    LARGEST_VALUES,
    Parameter,
    parameters,
    rescaled,
)
from lostgallon.shop.trouble import NotCovered

CURRENT = 0x01
ENGINE_SPEED = 0x0C
STATUS = 0x01
LAST_GROUP = 0xE0
TRIES = 3


@dataclass
class Vehicle:
    """What answered.

    Attributes:
        supports: Parameters of service 01 by module, as far as the decoding table knows them.
        engine: The module of the engine: it knows the engine's speed, and of several that do the most parameters.
        known: The decoding table with the scales that the engine's module states.
        remarks: What could not be found out.
    """

    supports: Mapping[int, frozenset[int]]
    engine: int
    known: Mapping[int, Parameter]
    remarks: list[str] = field(default_factory=list)

    def module_for(self, pid: int) -> int | None:
        """The module to ask for a parameter: the engine's if it knows it, else the first that does."""
        if pid in self.supports[self.engine]:
            return self.engine
        return next((module for module, pids in sorted(self.supports.items()) if pid in pids), None)


def discover(line: Line) -> Vehicle | None:
    """Ask every module what it supports; None where none answers.

    Args:
        line: The line.

    Raises:
        NotCovered: If the engine is a diesel.
        PortLost: If the adapter can't be used any more.
    """
    supports = _supported_by_all(line)
    if not supports:
        return None
    known = parameters()
    engine = max(supports, key=lambda module: (ENGINE_SPEED in supports[module], len(supports[module]), -module))
    if by_compression(_alone(line, STATUS, engine, known)):
        raise NotCovered("the engine's module says compression ignition: diesels are not covered")
    pids = (LARGEST_VALUES, LARGEST_AIR_FLOW)
    largest = {pid: _alone(line, pid, engine, known) for pid in pids if pid in supports[engine]}
    scaled = rescaled(known, largest)
    changed = sorted(one.name for pid, one in scaled.items() if one.scale != known[pid].scale)
    remarks = [f"scale stated by the module: {', '.join(changed)}"] if changed else []
    return Vehicle(supports, engine, scaled, remarks)


def _supported_by_all(line: Line) -> dict[int, frozenset[int]]:
    found: dict[int, set[int]] = {}
    for group in range(0, LAST_GROUP + 1, GROUP):
        asked = frozenset(module for module, pids in found.items() if group in pids)
        if group and not asked:
            break
        for module, pids in _group(line, group, asked).items():
            found.setdefault(module, set()).update(pids)
    return {module: frozenset(pids) for module, pids in found.items()}


def _group(line: Line, group: int, waiting: frozenset[int]) -> dict[int, tuple[int, ...]]:
    """One bitmap from every module. Who is there is not known at first, so everybody is given every try."""
    found: dict[int, tuple[int, ...]] = {}
    for _ in range(TRIES):
        for answer in line.ask(bytes([CURRENT, group]), waiting=waiting - found.keys()).answers:
            try:
                found.setdefault(answer.module, supported(answer.payload))
            except Garbled:
                line.strays.note("garbled: bitmap")
        if waiting and not waiting - found.keys():
            break
    return found


def _alone(line: Line, pid: int, module: int, known: Mapping[int, Parameter]) -> bytes:
    """One parameter of one module; empty where it does not tell."""
    for answer in line.ask(bytes([CURRENT, pid]), module=module).answers:
        try:
            return values_of(answer.payload, (pid,), known)[pid]
        except Garbled:
            line.strays.note("garbled: parameter")
    return b""
