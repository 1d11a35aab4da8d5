"""Corrections: price alone, price today, what it saves, the advice with its reason; the owner's answer."""

from dataclasses import dataclass

from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.svg import Frame as Drawn
from lostgallon.paper.svg import tag, text
from lostgallon.shop.account import Correction
from lostgallon.shop.cards import Cards
from lostgallon.shop.spread import Spread
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_LONGEST_YEARS = 20.0
_LAST_NUMBERS = 0.7
"""From here on a scale of years has only its last number: the word for years takes the room."""


@dataclass(frozen=True)
class FillIn:
    """A figure that comes from the service information: its name, the figure entered, its source."""

    number: int
    name: str
    figure: str
    source: str


@dataclass(frozen=True)
class Priced:
    """A price with its explanation under it."""

    price: str
    note: str


@dataclass(frozen=True)
class CorrectionRow:
    """One correction.

    `status` says in words how far it is: not asked, agreed by whom, declined, done, left with a reason. `agreed`: the
    owner's yes stands and covers what it comes to. `amount` is what it comes to with its currency; empty without one.
    """

    operation: str
    name: str
    advice: str
    because: str
    trigger: str
    saves: str
    alone: Priced | None
    today: Priced | None
    pays_back: str
    band: str
    cautions: tuple[str, ...]
    steps: tuple[str, ...]
    fill_in: tuple[FillIn, ...]
    follow_up: tuple[str, ...]
    amount: str
    answer: str
    agreed: bool
    status: str
    done: bool


@dataclass(frozen=True)
class Corrections:
    """The section: what to do today, what later, what not for fuel."""

    head: str
    lede: str
    basis: str
    rows: tuple[CorrectionRow, ...]
    folded: tuple[CorrectionRow, ...]


def corrections_of(sheet: Sheet, cards: Cards, say: Say) -> Corrections | None:
    """The section, or None before the first account."""
    account = sheet.account
    if account is None or sheet.case is None:
        return None
    rows = [row_of(correction, sheet, cards, say) for correction in account.corrections]
    order = {"stop": 0, "done": 1, "today": 2, "later": 3, "not for fuel": 4}
    pairs = sorted(zip(account.corrections, rows, strict=True), key=lambda pair: order[pair[0].advice])
    main = tuple(
        row for correction, row in pairs if correction.advice in {"stop", "today", "later"} or row.answer or row.done
    )
    today = [row.name for correction, row in pairs if correction.advice == "today"]
    return Corrections(
        head=say("corrections.head_priced") if today else say("corrections.head_none"),
        lede=_lede(today, sheet, say),
        basis=say(
            "corrections.basis",
            distance=say.distance(sheet.case.use.distance_per_year_km),
            price=_fuel_price(sheet, say),
            years=f"{sheet.case.shop.horizon_years:g}",
        ),
        rows=main,
        folded=tuple(row for _, row in pairs if row not in main),
    )


def _lede(today: list[str], sheet: Sheet, say: Say) -> str:
    if sheet.account and sheet.account.stop:
        return say("corrections.stopped")
    if not today:
        return say("corrections.lede_none")
    return say("corrections.lede_today", names=say.words.listed(tuple(today)))


def row_of(correction: Correction, sheet: Sheet, cards: Cards, say: Say) -> CorrectionRow:
    """One correction as it is shown."""
    operation = correction.operation
    currency = sheet.account.currency if sheet.account else "USD"
    done = bool(sheet.value(f"done.{operation}"))
    consent = sheet.value(f"consent.{operation}") or {}
    return CorrectionRow(
        operation=operation,
        name=correction.name,
        advice=say(f"advice.{correction.advice.replace(' ', '_')}"),
        because=say.sentence(correction.because),
        trigger=correction.trigger,
        saves=_saves(correction, say),
        alone=_price(_alone_money(correction), correction, say, currency, minutes=correction.minutes_alone),
        today=_price(correction.total_money, correction, say, currency, minutes=correction.minutes_now),
        pays_back=_pays_back(correction, say),
        band=_band(correction.pays_back_months, say),
        cautions=correction.cautions,
        steps=correction.steps or ((cards.operations[operation].text,) if operation in cards.operations else ()),
        fill_in=_fill_ins(correction, sheet),
        follow_up=correction.follow_up,
        amount="" if correction.total_money is None else f"{correction.total_money:.2f} {currency}",
        answer=str(consent.get("answer", "")),
        agreed=agreed_to(correction, sheet),
        status=_status(correction, sheet, say, done=done),
        done=done,
    )


def agreed_to(correction: Correction, sheet: Sheet) -> bool:
    """Whether the owner's yes stands and covers what the work comes to."""
    if (sheet.value(f"consent.{correction.operation}") or {}).get("answer") != "yes":
        return False
    consent = sheet.case.consent_to(correction.operation) if sheet.case else None
    return not correction.total_money or (consent is not None and consent.covers(correction.total_money))


def undecided(correction: Correction, sheet: Sheet) -> bool:
    """Whether the owner's answer is still to come: none stands, or the work now costs more than it was given to."""
    if any(sheet.value(f"{name}.{correction.operation}") for name in ("left", "done")):
        return False
    answer = (sheet.value(f"consent.{correction.operation}") or {}).get("answer")
    return answer != "no" and not agreed_to(correction, sheet)


def _saves(correction: Correction, say: Say) -> str:
    saved = correction.saves_l_per_year
    if saved.p95 <= 0.0:
        return say("corrections.saves_none")
    return say("corrections.saves", fuel=say.fuel(saved))


def _alone_money(correction: Correction) -> float | None:
    parts, labor = correction.parts_money, correction.labor_money_alone
    if correction.total_money_alone is not None or parts is None or labor is None:
        return correction.total_money_alone
    # An account that was sealed before it carried this total.
    return labor + parts.mean


def _price(total: float | None, correction: Correction, say: Say, currency: str, *, minutes: float) -> Priced | None:
    parts = correction.parts_money
    if parts is None or total is None:
        return None
    note = say.minutes(minutes)
    if parts.mean >= 0.5:
        note = say("corrections.part", minutes=note, money=say.money(parts.mean, currency))
    return Priced(price=say.money(total, currency), note=note)


def _pays_back(correction: Correction, say: Say) -> str:
    months = correction.pays_back_months
    if correction.only_while:
        return say("corrections.only_while", what=say.told(correction.only_while))
    if months is None:
        return say("corrections.no_payback" if correction.saves_money_per_year is None else "corrections.never")
    if months.p95 < 1.0:
        return say("corrections.at_once")
    return say.months(months)


def _band(months: Spread | None, say: Say) -> str:
    if months is None or months.p95 < 1.0 or months.p05 > _LONGEST_YEARS * 12:
        return ""
    most = next((years for years in (2.0, 5.0, 10.0, 20.0) if months.p95 / 12.0 <= years), _LONGEST_YEARS)
    scale, frame = Scale(0.0, most), Drawn()
    low, high = scale.at(months.p05 / 12.0), min(1.0, scale.at(months.p95 / 12.0))
    marks = [
        tag("rect", class_="steel", height=16, **frame.bar(0.0, 1.0)),
        tag("rect", fill="url(#band)", height=16, **frame.bar(low, max(high, low + 0.02))),
        frame.level(16.0),
    ]
    for tick in ticks(scale):
        marks.append(frame.upright(tick.at, 16.0, 22.0))
        if tick.number and not _LAST_NUMBERS < tick.at <= 0.98:
            side = "start" if tick.at < 0.02 else "end" if tick.at > 0.98 else ""
            marks.append(
                text(
                    f"{tick.number}{' ' + say('corrections.years') if tick.at > 0.98 else ''}",
                    x=frame.x(tick.at),
                    y=40,
                    class_=side,
                )
            )
    return tag("svg", *marks, class_="full", height=44, aria_hidden="true")


def _fill_ins(correction: Correction, sheet: Sheet) -> tuple[FillIn, ...]:
    rows = []
    for number, name in enumerate(correction.fill_in, 1):
        kept = sheet.value(f"fill_in.{correction.operation}.{number}") or {}
        rows.append(FillIn(number, name, str(kept.get("figure", "")), str(kept.get("source", ""))))
    return tuple(rows)


def _status(correction: Correction, sheet: Sheet, say: Say, *, done: bool) -> str:
    operation = correction.operation
    left = sheet.value(f"left.{operation}")
    consent = sheet.value(f"consent.{operation}")
    if done:
        finished = sheet.standing[f"done.{operation}"]
        return say("corrections.done", who=finished.who, when=say.when(finished.at, sheet.now))
    if consent:
        key = "corrections.agreed" if consent.get("answer") == "yes" else "corrections.declined"
        asked = sheet.standing[f"consent.{operation}"]
        told = say(key, name=consent.get("name", ""), how=consent.get("how", ""), when=say.when(asked.at, sheet.now))
        return f"{told} {_ask_again(correction, sheet, say)}".strip() if consent.get("answer") == "yes" else told
    if left:
        return say("corrections.left", reason=left.get("reason", ""))
    return ""


def _ask_again(correction: Correction, sheet: Sheet, say: Say) -> str:
    if agreed_to(correction, sheet) or sheet.account is None or correction.total_money is None:
        return ""
    consent = sheet.case.consent_to(correction.operation) if sheet.case else None
    total = say.money(correction.total_money, sheet.account.currency)
    if consent is None:
        return say("corrections.agreed_to_no_price", total=total)
    return say(
        "corrections.agreed_to_less", agreed=say.money(consent.amount_money, sheet.account.currency), total=total
    )


def _fuel_price(sheet: Sheet, say: Say) -> str:
    return say.typed(str(sheet.value("use.fuel_price", "")))
