"""The written estimate and what the owner agreed to: extra work is begun only with recorded consent."""

import datetime as dt
from collections.abc import Iterable

from lostgallon.plan.advice import DONE
from lostgallon.shop.account import Correction, Estimate, EstimateLine
from lostgallon.shop.visit import Case

NOT_AGREED = "not yet agreed: ask the owner first"
NOT_AUTHORIZED = "Not yet authorized: nothing here is begun without the owner's recorded yes."
AUTHORIZED = "Agreed by the owner; more than this amount is asked for again."


def consent_in_words(operation: str, total_money: float, case: Case) -> str:
    """What stands between a piece of extra work and its beginning: agreed, agreed to less than it costs, or not yet."""
    agreed = case.consent_to(operation)
    if agreed is None:
        return NOT_AGREED
    amount = money(agreed.amount_money, case.shop.currency)
    if not agreed.covers(total_money):
        comes_to = money(total_money, case.shop.currency)
        return f"agreed up to {amount}, but it comes to {comes_to}: ask the owner again first"
    return f"agreed up to {amount} by {agreed.by}, {agreed.how}, {agreed.at:%Y-%m-%d %H:%M}"


def money(amount: float, currency: str) -> str:
    """An amount in whole units of its currency."""
    return f"{amount:.0f} {currency}"


def estimate_of(rows: Iterable[Correction], case: Case) -> Estimate | None:
    """The estimate of today's extra work, done or offered; None where nothing is or nothing may be priced.

    Args:
        rows: The corrections with their advice.
        case: For taxes, consent, and until when the vehicle stands open as it does.
    """
    lines = [line for row in rows if row.advice in ("done", "today") for line in _line(row, case)]
    if not lines:
        return None
    total = sum(line.total_money for line in lines)
    taxed = 1.0 + case.shop.parts_tax_share
    low, high = (
        sum(taxed * (end - line.parts_money.mean) for line, end in zip(lines, ends, strict=True))
        for ends in ([line.parts_money.p05 for line in lines], [line.parts_money.p95 for line in lines])
    )
    authorized = all(line.agreed for line in lines)
    return Estimate(
        lines=tuple(lines),
        total_money=round(total, 2),
        low_money=round(total + low, 2),
        high_money=round(total + high, 2),
        currency=case.shop.currency,
        valid_until=_valid_until(case),
        authorized=authorized,
        says=AUTHORIZED if authorized else NOT_AUTHORIZED,
    )


def _line(row: Correction, case: Case) -> list[EstimateLine]:
    if row.parts_money is None or row.labor_money is None or row.total_money is None or row.total_money == 0.0:
        return []
    agreed = case.consent_to(row.operation)
    covers = agreed is not None and agreed.covers(row.total_money)
    return [
        EstimateLine(
            operation=row.operation,
            name=row.name,
            why=row.because.removesuffix(f"; {DONE}"),
            minutes=row.minutes_now,
            parts_money=row.parts_money,
            labor_money=row.labor_money,
            fees_money=row.fees_money or 0.0,
            total_money=row.total_money,
            agreed=consent_in_words(row.operation, row.total_money, case) if covers else "",
            done=row.advice == "done",
        )
    ]


def _valid_until(case: Case) -> str:
    """The promised time, or the end of the day of the visit: then the vehicle is closed up."""
    end = case.visit.promised or dt.datetime.combine(case.visit.date, dt.time(23, 59))
    return end.isoformat(timespec="minutes")
