"""The page of the diagnostic port: cautions first, then a recording, then the memory as it was read."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from lostgallon.job.port import CAUTIONS, HOW_TO_INSTALL, SIMULATED, has_extra
from lostgallon.paper.measure import METRIC
from lostgallon.shop.recorded import KeptMemory, Misfires, Value
from lostgallon.shop.wire import record_from
from lostgallon.web.at_port import CHANNEL, MEMORY
from lostgallon.web.desk import Desk
from lostgallon.web.recorder import Run
from lostgallon.web.say import Say
from lostgallon.web.sheet import Recorded, Sheet

KEPT_SHOWN = 40
CAN_FOR_ALL = 2008
"""Model year from which every vehicle sold in the US has CAN at its port (13 CCR 1968.2(g)(3); from memory)."""


@dataclass(frozen=True)
class Running:
    """A recording that runs: minutes and seconds, lines, and the newest readings in words."""

    clock: str
    lines: str
    newest: tuple[str, ...]
    ending: bool


@dataclass(frozen=True)
class Ended:
    """A recording that is kept: what it came to, and what is to be known of it."""

    says: str
    why: str
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class CodeLine:
    """One code with what its letters say."""

    code: str
    says: str


@dataclass(frozen=True)
class Frozen:
    """A freeze frame: the code that kept it, and its values."""

    says: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class MemoryShown:
    """The memory as it was read."""

    when: str
    groups: tuple[tuple[str, tuple[CodeLine, ...]], ...]
    frozen: tuple[Frozen, ...]
    facts: tuple[str, ...]
    values: tuple[str, ...]
    not_answered: tuple[str, ...]
    raw: tuple[str, ...]
    vin: str


@dataclass(frozen=True)
class PortPage:
    """The page."""

    visit_id: str
    vehicle: str
    missing: str
    older: str
    sealed: bool
    cautions: tuple[str, ...]
    channel: str
    simulated: tuple[tuple[str, str], ...]
    running: Running | None
    elsewhere: str
    trouble: str
    ended: Ended | None
    cut_off: str
    memory: MemoryShown | None


def port_page(sheet: Sheet, desk: Desk, say: Say) -> PortPage:
    """The page of a visit."""
    run, other = desk.recorder.of(sheet.id), desk.recorder.running()
    elsewhere = desk.summary(other.visit_id).vehicle.description if other and other.visit_id != sheet.id else ""
    read = sheet.group(MEMORY)
    unfinished = desk.recorder.unfinished(sheet.id)
    return PortPage(
        visit_id=sheet.id,
        vehicle=sheet.vehicle,
        missing="" if has_extra() else HOW_TO_INSTALL.partition(": ")[2],
        older=_older(sheet, say),
        sealed=sheet.sealed,
        cautions=CAUTIONS,
        channel=str(desk.store.setting(CHANNEL, "") or (SIMULATED[0] if desk.guide else "")),
        simulated=tuple((name, say(f"port.simulated.{name.replace('-', '_')}")) for name in SIMULATED)
        if desk.guide
        else (),
        running=_running(run, say) if run and run.runs else None,
        elsewhere=elsewhere,
        trouble=_trouble(run, say),
        ended=_ended(sheet.standing.get("evidence.drive_log"), say, sheet.now),
        cut_off=say("port.cut_off", size=f"{unfinished.stat().st_size / 1000:.0f}") if unfinished else "",
        memory=_memory(read[-1][1], say, sheet.now) if read else None,
    )


def _older(sheet: Sheet, say: Say) -> str:
    """A word on vehicles that may have no CAN at their port: in the US all have it from model year 2008 on."""
    year = sheet.case.vehicle.model_year if sheet.case else CAN_FOR_ALL
    return say("port.older", year=year) if year < CAN_FOR_ALL else ""


def _trouble(run: Run | None, say: Say) -> str:
    if run is None or run.runs:
        return ""
    return say("port.broke") if run.own_fault else run.trouble


def _running(run: Run, say: Say) -> Running:
    newest = []
    if "speed_m_s" in run.newest:
        # The newest values are in the port's units: km/h and degrees Celsius.
        speed = say.words.measure.distance * run.newest["speed_m_s"]
        unit = "km/h" if say.words.measure is METRIC else "mph"
        newest.append(say("port.speed", speed=f"{speed:.0f} {unit}"))
    if "rpm" in run.newest:
        newest.append(say("port.rpm", rpm=f"{run.newest['rpm']:.0f}"))
    if "coolant_c" in run.newest:
        newest.append(say("port.coolant", temperature=say.temperature(run.newest["coolant_c"])))
    seconds = int(run.seconds)
    return Running(
        clock=f"{seconds // 60}:{seconds % 60:02d}",
        lines=say("port.lines", count=run.rows) if run.rows else say("port.looking"),
        newest=tuple(newest),
        ending=run.wanted_end.is_set(),
    )


def _ended(entry: Recorded | None, say: Say, now: dt.datetime) -> Ended | None:
    told: dict[str, Any] = entry.value.get("port", {}) if entry else {}
    if not entry or not told:
        return None
    when = say.when(entry.at, now)
    why = say(f"port.ended.{told['ended_by'].replace(' ', '_')}")
    if "seconds" not in told:
        return Ended(say("port.kept_part", when=when), why, ())
    minutes = say.minutes(told["seconds"] / 60.0)
    says = say("port.kept", when=when, minutes=minutes, lines=told["rows"], rate=f"{told['rounds_hz']:.1f}")
    return Ended(says, why, tuple(told.get("remarks", ())))


def _memory(entry: Recorded, say: Say, now: dt.datetime) -> MemoryShown:
    memory: KeptMemory = record_from(KeptMemory, entry.value)
    groups = (("stored", memory.stored), ("pending", memory.pending), ("permanent", memory.permanent))
    return MemoryShown(
        when=say.when(entry.at, now),
        groups=tuple(
            (
                say(f"port.codes.{name}"),
                tuple(CodeLine(one.code, _class(one.system, one.defined_by, say)) for one in codes),
            )
            for name, codes in groups
        ),
        frozen=tuple(
            Frozen(say("port.frozen", code=one.code, module=one.module), tuple(map(_value, one.values)))
            for one in memory.freeze_frames
        ),
        facts=tuple(_facts(memory, say)),
        values=tuple(map(_value, memory.values))[:KEPT_SHOWN],
        not_answered=memory.not_answered,
        raw=memory.raw,
        vin=say(f"port.vin.{entry.value.get('vin', 'not_told')}"),
    )


def _class(system: str, defined_by: str, say: Say) -> str:
    by = "standard" if defined_by == "the standard" else "maker"
    return say("port.code_says", system=say(f"port.system.{system}"), by=say(f"port.by.{by}"))


def _facts(memory: KeptMemory, say: Say) -> list[str]:
    facts = []
    if memory.readiness is not None:
        ready = memory.readiness
        facts.append(say("port.lamp_on" if ready.lamp_on else "port.lamp_off", count=ready.codes))
        open_ = say.words.listed(tuple(say(f"port.monitor.{name.replace(' ', '_')}") for name in ready.incomplete))
        facts.append(say("port.not_run", names=open_) if ready.incomplete else say("port.all_run"))
    if memory.warm_ups is not None:
        facts.append(say("port.warm_ups", count=f"{memory.warm_ups:.0f}"))
    if memory.distance_since_clear_km is not None:
        facts.append(say("port.since_clear", distance=say.distance(memory.distance_since_clear_km)))
    return facts + [_misfire(one, say) for one in memory.misfires]


def _misfire(one: Misfires, say: Say) -> str:
    ten = "–" if one.ten_drives is None else f"{one.ten_drives:.0f}"
    this = "–" if one.this_drive is None else f"{one.this_drive:.0f}"
    return say("port.misfires", cylinder=one.cylinder, ten=ten, this=this)


def _value(one: Value) -> str:
    unit = "" if one.unit in {"1", "status"} else f" {one.unit.replace('degC', '°C')}"
    return f"{one.name} {one.value:.5g}{unit}"
