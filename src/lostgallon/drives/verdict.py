"""What a recorded drive says, all of it: one record, one sentence."""

from collections.abc import Sequence

from lostgallon.drives.coast_down import DRAG, own_road_load
from lostgallon.drives.coast_stretches import marked_spans
from lostgallon.drives.consumption import Consumption, consumption_of, speed_curve
from lostgallon.drives.evidence import SPEAKS_FOR
from lostgallon.drives.heat import heat_of
from lostgallon.drives.kept import kept_of, kept_patterns
from lostgallon.drives.patterns import by_cause
from lostgallon.drives.rolling import rolling_of
from lostgallon.drives.samples import Samples, samples_of
from lostgallon.drives.trim_verdict import trim_findings
from lostgallon.drives.vehicle import RoadLoad, Subject
from lostgallon.drives.words import distance, volume
from lostgallon.shop.driven import DriveLog, DriveVerdict, Pattern
from lostgallon.shop.marks import Mark
from lostgallon.shop.units import mpg_us

ROAD_TEST = "On a road test a helper watches the screen, not the driver; traffic and local law come first."


def drive_verdict(log: DriveLog, subject: Subject, *, marked: Sequence[Mark] = ()) -> DriveVerdict:
    """Everything the log says.

    Args:
        log: As a reader hands it over.
        subject: What is known of the vehicle; what is not known makes some of it "not enough".
        marked: Coasting stretches marked by hand: start and end in seconds from the first line of the log.

    Raises:
        OutOfRange: If a marked stretch can't be read.
    """
    samples = samples_of(log)
    used = consumption_of(samples, subject)
    heat = heat_of(samples, used.flow, subject)
    trims = trim_findings(samples, used.overrun, subject)
    rolling = rolling_of(samples, used.overrun, subject, marked=marked)
    kept, kept_missing = kept_of(log, samples)
    cold = any(one.cause == "thermostat_stuck_open" and one.likelihood_ratio > 1.0 for one in heat.pattern)
    pattern = (*heat.pattern, *trims.pattern, *rolling.pattern, *kept_patterns(kept, thermostat_suspect=cold))
    ordered = by_cause(pattern)
    return DriveVerdict(
        duration_s=samples.duration_s,
        distance_km=used.distance_km,
        fuel_l=used.fuel_l,
        l_per_100km=used.l_per_100km,
        idle=used.idle,
        warm_up=heat.warm_up,
        trims=trims.trims,
        pattern=ordered,
        lock_up=rolling.lock_up,
        coast_downs=rolling.coast_downs,
        columns=log.columns,
        rejected=log.rejected,
        not_enough=(*used.not_enough, *heat.not_enough, *trims.not_enough, *rolling.not_enough, *kept_missing),
        sentence=_sentence(samples, used, ordered, drag_open=any(one.name == DRAG for one in rolling.not_enough)),
        fuel_from=used.flow.source if used.flow else "",
        fuel_cut=used.fuel_cut,
        cold_soak=heat.cold_soak,
        kept=kept,
        trims_say=trims.says,
        fuel_over_distance=used.curve,
        unsupported=log.unsupported,
        notes=(*log.notes, *used.notes),
        cautions=(ROAD_TEST, *rolling.cautions) if _drove(used) else rolling.cautions,
        log=log.name,
        log_sha256=log.sha256,
        facts=pattern,
        speed_over_time=speed_curve(samples),
    )


def require_marked(log: DriveLog, marked: Sequence[Mark]) -> None:
    """Refuse coasting marked by hand that can't be read in this log.

    Raises:
        OutOfRange: If a stretch is too short, too slow or falls too little.
    """
    marked_spans(samples_of(log), marked)


def road_load_shown(log: DriveLog, subject: Subject) -> RoadLoad | None:
    """The vehicle's own road load by the coast-downs of an earlier log; None where it holds none.

    Args:
        log: The earlier log.
        subject: What is known of the vehicle.
    """
    samples = samples_of(log)
    overrun = consumption_of(samples, subject).overrun
    return own_road_load(samples, overrun, subject, source=log.name)


def _drove(used: Consumption) -> bool:
    return used.distance_km is not None and used.distance_km > 0.1


def _sentence(samples: Samples, used: Consumption, pattern: tuple[Pattern, ...], *, drag_open: bool) -> str:
    """Distance, fuel and the strongest finding in plain words."""
    minutes = samples.duration_s / 60.0
    went = f"{minutes:.0f} min standing" if used.distance_km is not None else f"{minutes:.0f} min, no road speed logged"
    if _drove(used):
        went = f"{distance(used.distance_km or 0.0)} in {minutes:.0f} min"
    parts = [f"{went}{_fuel_words(used)}."]
    speaks = [one for one in pattern if one.likelihood_ratio >= SPEAKS_FOR]
    if speaks:
        first = speaks[0]
        parts.append(f"Speaks for {first.cause.replace('_', ' ')}: {first.because}.")
    elif pattern:
        parts.append(
            "Nothing here speaks for a fault" + ("; whether a brake drags can't be told from it." if drag_open else ".")
        )
    else:
        parts.append("It holds too little to speak for or against a fault.")
    return " ".join(parts)


def _fuel_words(used: Consumption) -> str:
    if used.l_per_100km is not None:
        each = used.l_per_100km
        likely = f"likely {each.p05:.1f} to {each.p95:.1f}"
        return f": {each.p50:.1f} L/100 km ({mpg_us(each.p50):.0f} mpg), {likely}"
    if used.fuel_l is not None:
        return f" on {volume(used.fuel_l.p50)}, likely {used.fuel_l.p05:.2f} to {used.fuel_l.p95:.2f}"
    return ", the fuel not known"
