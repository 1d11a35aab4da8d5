"""The account as a record: then, entries, now, what is not accounted for, with reasons."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.prospects import Prospects
from lostgallon.causes.reasons import because, expected_of, moved_by, would_change
from lostgallon.causes.records import Check
from lostgallon.causes.weighing import Weighing
from lostgallon.shop.account import ENTRY_KINDS, Entry, FindingRow, KindTotal, Loss
from lostgallon.shop.spread import Floats, Spread, spread_of, spreads_of
from lostgallon.shop.units import PA_PER_PSI
from lostgallon.shop.visit import Case, Finding, Quantity

SURE_ENOUGH = 0.9
"""Below this probability of a real rise no entry is given as a share of it: the denominator is near zero."""


def loss_of(weighing: Weighing) -> Loss:
    """Then, now, the lasting rise between them, and whether the vehicle itself uses more.

    Then and now are figures of the tanks in question; `increase_pct` is without the scatter of those tanks, so its
    interval says what will last.
    """
    scatter = [cause.context == "scatter" for cause in weighing.causes]
    scatter_log = np.where(weighing.new, weighing.log_effect, 0.0)[:, scatter].sum(axis=1)
    total_log = np.log(weighing.now_l_per_100km / weighing.then_l_per_100km)
    rise_pct = 100.0 * np.expm1(total_log - scatter_log)
    return Loss(
        then_l_per_100km=spread_of(weighing.then_l_per_100km),
        now_l_per_100km=spread_of(weighing.now_l_per_100km),
        increase_pct=spread_of(rise_pct),
        probability_real=weighing.real,
        lost_l_per_100km=spread_of(weighing.now_l_per_100km - weighing.then_l_per_100km),
    )


def entries_of(weighing: Weighing, case: Case, catalogue: Catalogue, *, prospects: Prospects) -> tuple[Entry, ...]:
    """All entries, the largest mean first; together with the remainder they add up to now minus then in every draw.

    Args:
        weighing: The weighing.
        case: The case.
        catalogue: The catalogue.
        prospects: What the checks not yet made could say (causes/prospects.py).

    Returns:
        One entry for every cause that applies to this vehicle, even where nothing speaks for it.
    """
    moved, expected = moved_by(weighing.inside, catalogue), expected_of(prospects)
    fuel = np.ascontiguousarray(weighing.entries_l_per_100km.T)
    spreads, shares = spreads_of(fuel), _shares(fuel, weighing)
    entries = []
    for n, cause in enumerate(weighing.causes):
        if not (weighing.presence[n] or weighing.already_there[n] or fuel[n].any()):
            continue
        said = because(cause, moved.get(cause.id, ()), weighing=weighing, case=case, catalogue=catalogue)
        entries.append(
            Entry(
                cause=cause.id,
                name=cause.name,
                kind=cause.kind,
                fault=cause.fault,
                present=float(weighing.presence[n]),
                already_there=float(weighing.already_there[n]),
                l_per_100km=spreads[n],
                share_pct=shares[n] if shares else None,
                because=tuple(said),
                would_change_it=tuple(would_change(cause, expected, weighing=weighing, catalogue=catalogue)),
            )
        )
    return tuple(sorted(entries, key=lambda entry: -entry.l_per_100km.mean))


def _shares(fuel: Floats, weighing: Weighing) -> tuple[Spread, ...]:
    """Shares of the change, in per cent, by cause; none where it is not sure enough that there is one.

    The mean is a ratio of sums, the ends are of the draws that show a rise.
    """
    if weighing.real < SURE_ENOUGH:
        return ()
    change = weighing.now_l_per_100km - weighing.then_l_per_100km
    rising = change > 0.02 * np.abs(change).mean()
    means = 100.0 * fuel.sum(axis=1) / change.sum()
    ends = spreads_of(100.0 * fuel[:, rising] / change[rising])
    return tuple(replace(spread, mean=float(mean)) for spread, mean in zip(ends, means, strict=True))


def kinds_of(weighing: Weighing) -> tuple[KindTotal, ...]:
    """All entries of one kind together, in the order of the house."""
    kinds = np.array([cause.kind for cause in weighing.causes])
    totals = {kind: weighing.entries_l_per_100km[:, kinds == kind].sum(axis=1) for kind in ENTRY_KINDS}
    return tuple(KindTotal(kind=kind, l_per_100km=spread_of(total)) for kind, total in totals.items())


def sum_over(weighing: Weighing, *, fault: bool) -> Spread:
    """All faults, or all circumstances, together: summed draw by draw. [L/100 km]"""
    chosen = np.array([cause.fault == fault for cause in weighing.causes])
    return spread_of(weighing.entries_l_per_100km[:, chosen].sum(axis=1))


def not_accounted_for(weighing: Weighing) -> Spread:
    """What nothing listed explains, L/100 km."""
    return spread_of(weighing.remainder_l_per_100km)


def findings_of(case: Case, catalogue: Catalogue) -> tuple[FindingRow, ...]:
    """Findings as they stand in the account, in the order of the case.

    Raises:
        BadInput: If a finding names a check that does not exist.
    """
    rows = []
    for number, finding in enumerate(case.findings, start=1):
        where = f"[[finding]] {number}"
        check = catalogue.check_named(finding.check, where=f"{where}, check")
        limit, limit_source = _limit_of(finding, check, case)
        rows.append(
            FindingRow(
                check=check.id,
                name=check.name,
                result=finding.result,
                readings=_words(finding, check),
                value=tuple(quantity.typed for quantity in finding.value),
                place=finding.place,
                limit=limit.typed if limit else None,
                limit_source=limit_source,
                outside_by=_outside_by(finding, limit, check),
                before_good_days=finding.before_good_days,
                gauge=_as_read(finding, case),
                after=tuple(catalogue.operation_named(n, where=f"{where}, after").name for n in finding.after),
            )
        )
    return tuple(rows)


def _as_read(finding: Finding, case: Case) -> str:
    """What stood on a gauge with an offset; empty where the values are as read."""
    if not finding.as_read:
        return ""
    high = next(gauge.reads_high.typed for gauge in case.gauges if gauge.name == finding.gauge)
    return f"as read {', '.join(finding.as_read)} on {finding.gauge}; taken off: {high}"


def _limit_of(finding: Finding, check: Check, case: Case) -> tuple[Quantity | None, str | None]:
    """The limit as entered with its source; tires without one are held against the vehicle's own placard."""
    placard_pa = case.vehicle.tire_placard_pa
    by_placard = finding.value and check.gauge is not None and check.gauge.limit == "placard"
    if finding.limit is not None or not by_placard or placard_pa is None:
        return finding.limit, finding.limit_source
    in_psi = finding.value[0].typed.rstrip().endswith("psi")
    typed = f"{placard_pa / PA_PER_PSI:.3g} psi" if in_psi else f"{placard_pa / 1000.0:.3g} kPa"
    return Quantity(typed=typed, number=placard_pa, unit="Pa"), "placard"


def _words(finding: Finding, check: Check) -> tuple[str, ...]:
    """The readings in words; a plain "found" reads as the catalogue describes a positive check."""
    texts = {reading.id: reading.text for reading in check.readings}
    told = (*(texts.get(name, name) for name in finding.reading), *finding.codes)
    plain = finding.result == "found" and not told and not finding.value
    return (check.positive,) if plain else told


def _outside_by(finding: Finding, limit: Quantity | None, check: Check) -> str | None:
    """How far the worst value is beyond its limit, in the limit's own number, or None inside it."""
    if limit is None or not finding.value or finding.value[0].unit != limit.unit:
        return None
    numbers = np.array([quantity.number for quantity in finding.value])
    low_is_bad = _low_is_bad(check)
    beyond = limit.number - numbers if low_is_bad else numbers - limit.number
    worst = int(beyond.argmax())
    if beyond[worst] <= 0.0:
        return None
    return f"{finding.value[worst].typed} is {'below' if low_is_bad else 'above'} {limit.typed}"


def _low_is_bad(check: Check) -> bool:
    tested: Sequence[bool] = [reading.value.below is not None for reading in check.readings if reading.value]
    if tested:
        return tested[0]
    return check.gauge is not None and (check.gauge.factor < 0.0 or check.gauge.limit == "placard")
