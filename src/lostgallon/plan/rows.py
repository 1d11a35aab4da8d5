"""Corrections as records: with money once the plan has chosen, without any while a stop stands."""

from collections.abc import Iterable

from lostgallon.causes.catalogue import Catalogue
from lostgallon.plan.access import CONDITIONS, Standing, cautions_for, close_minutes, open_minutes, with_parents
from lostgallon.plan.advice import after_the_clock
from lostgallon.plan.corrections import Considered, payback_months
from lostgallon.plan.tasks import texts
from lostgallon.shop.account import Correction, Stop
from lostgallon.shop.spread import spread_of
from lostgallon.shop.visit import Case


def correction_rows(
    found: Iterable[Considered],
    *,
    case: Case,
    catalogue: Catalogue,
    standing: Standing,
    chosen: frozenset[str],
    clock: bool,
) -> tuple[Correction, ...]:
    """The corrections with prices and advice, those of today first.

    Args:
        found: The corrections under consideration.
        case: The case.
        catalogue: The catalogue.
        standing: How the vehicle stands.
        chosen: Ids of what the plan holds.
        clock: Whether the plan has a promised time.
    """
    rows = [
        _priced(each, case=case, catalogue=catalogue, standing=standing, chosen=chosen, clock=clock) for each in found
    ]
    rank = {"stop": 0, "done": 1, "today": 2, "later": 3, "not for fuel": 4}
    return tuple(sorted(rows, key=lambda row: rank[row.advice]))


def _priced(
    each: Considered, *, case: Case, catalogue: Catalogue, standing: Standing, chosen: frozenset[str], clock: bool
) -> Correction:
    opens = catalogue.state[each.way.needs[-1]].name if each.way.needs else ""
    advice, trigger, because = after_the_clock(
        each.answer,
        fits=each.operation.id in chosen,
        opens=opens,
        clock=clock,
        otherwise=each.operation.later_when,
    )
    return Correction(
        operation=each.operation.id,
        name=each.operation.name,
        cause=each.cause.id,
        minutes_alone=each.alone.minutes,
        minutes_now=each.now.minutes,
        parts_money=each.now.parts,
        labor_money=_cents(each.now.labor),
        labor_money_alone=_cents(each.alone.labor),
        saves_l_per_year=spread_of(each.yearly_l),
        saves_money_per_year=spread_of(each.yearly_l * case.use.fuel_price_per_l),
        pays_back_months=payback_months(each, case),
        only_while=each.only_while,
        advice=advice,
        trigger=trigger,
        because=because,
        fill_in=each.operation.fill_in,
        cautions=_cautions(each, catalogue),
        steps=() if each.done else work_steps(each, catalogue, standing=standing),
        follow_up=each.operation.follow_up,
        fees_money=_cents(each.now.fees),
        total_money=_cents(each.now.total),
        total_money_alone=_cents(each.alone.total),
    )


STAYS = {True: "the vehicle stays: {}", False: "not weighed while this stands: {}"}
"""Why a correction is named while a stop stands: for one that mends it, and for any other."""


def _cents(money: float) -> float:
    return round(money, 2)


def _cautions(each: Considered, catalogue: Catalogue) -> tuple[str, ...]:
    return texts(cautions_for(each.way.needs, each.operation.cautions, states=catalogue.state), catalogue)


def work_steps(each: Considered, catalogue: Catalogue, *, standing: Standing) -> tuple[str, ...]:
    """The work in its order: what to look up, what to open, the work itself, what to close, what to measure again."""
    operation = each.operation
    modes = [
        catalogue.state[name]
        for name in with_parents(each.way.needs, catalogue.state)
        if name not in standing.open and name not in CONDITIONS
    ]
    steps = []
    if operation.fill_in:
        steps.append(f"Write in from the service information, with its source: {', '.join(operation.fill_in)}")
    steps += [_sentence(f"{state.to_open or state.name} ({open_minutes(state):.0f} min)") for state in modes]
    steps.append(_sentence(f"{operation.text} ({each.way.minutes:.0f} min)"))
    steps += [_sentence(f"{state.to_close or state.name} ({close_minutes(state):.0f} min)") for state in modes[::-1]]
    if operation.re_measure:
        steps.append(f"Measure again and write both figures down: {catalogue.check[operation.re_measure].name}")
    return tuple(steps)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def stopped_rows(
    found: Iterable[Considered], *, stop: Stop, catalogue: Catalogue, standing: Standing
) -> tuple[Correction, ...]:
    """The corrections while a stop stands: only what makes the vehicle safe is named, and nothing has a price."""
    rows = [_stopped(each, stop=stop, catalogue=catalogue, standing=standing) for each in found]
    return tuple(sorted(rows, key=lambda row: row.advice != "stop"))


def cures(each: Considered, stop: Stop) -> bool:
    """Whether a correction is what the stop asks for: the look that clears it is the one that confirms the work."""
    return not each.cause.paper and (stop.cleared_by in each.operation.confirmed_by)


def _stopped(each: Considered, *, stop: Stop, catalogue: Catalogue, standing: Standing) -> Correction:
    mends = cures(each, stop) and not each.done
    return Correction(
        operation=each.operation.id,
        name=each.operation.name,
        cause=each.cause.id,
        minutes_alone=each.alone.minutes,
        minutes_now=each.now.minutes,
        parts_money=None,
        labor_money=None,
        labor_money_alone=None,
        saves_l_per_year=spread_of(each.yearly_l),
        saves_money_per_year=None,
        pays_back_months=None,
        advice="done" if each.done else "stop" if mends else "later",
        trigger="" if mends or each.done else "when the vehicle is safe",
        because=each.answer.because if each.done else STAYS[mends].format(stop.what),
        fill_in=each.operation.fill_in,
        cautions=_cautions(each, catalogue),
        steps=work_steps(each, catalogue, standing=standing) if mends else (),
        follow_up=each.operation.follow_up if mends else (),
    )
