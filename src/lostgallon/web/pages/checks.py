"""Checks worth making, in the state the vehicle is in now; what is not worth the minutes or gone."""

from dataclasses import dataclass

from lostgallon.paper.svg import Frame as Drawn
from lostgallon.paper.svg import tag, text
from lostgallon.shop.account import CheckWorth
from lostgallon.shop.cards import Cards
from lostgallon.web.pages.states import missing_states
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

MOST_SHOWN = 6
_WINDOW_PX, _WINDOW_FULL_MINUTES = 84.0, 60.0


@dataclass(frozen=True)
class CheckRow:
    """One check worth making: minutes, worth, name, why, and the window in which it can be made."""

    id: str
    name: str
    minutes: str
    worth: str
    why: str
    window: str
    window_says: str
    needs: str


@dataclass(frozen=True)
class LeftRow:
    """A check that is not made, and why."""

    id: str
    name: str
    why: str


@dataclass(frozen=True)
class Checks:
    """The section. `strip` is the looking time as a picture, empty where no time was agreed."""

    head: str
    lede: str
    strip: str
    rows: tuple[CheckRow, ...]
    more: tuple[CheckRow, ...]
    left: tuple[LeftRow, ...]
    open_now: tuple[str, ...]


def checks_of(sheet: Sheet, cards: Cards, say: Say) -> Checks | None:
    """The section, or None before the first account."""
    account = sheet.account
    if account is None or sheet.case is None:
        return None
    if sheet.sealed:
        return Checks(say("checks.head_sealed"), say("checks.sealed"), "", rows=(), more=(), left=(), open_now=())
    todo = [worth for worth in account.checks if worth.check not in sheet.findings]
    fitting = [worth for worth in todo if worth.fits and worth.acts_money + worth.explains_money > 0.5]
    shown, more = fitting[:MOST_SHOWN], fitting[MOST_SHOWN:]
    minutes = sheet.case.booked.looking_minutes
    used = sum(cards.checks[check].minutes for check in _looked(sheet, cards))
    left = None if minutes is None else max(0.0, minutes - used)
    return Checks(
        head=say("checks.head_left", minutes=say.minutes(left)) if left is not None else say("checks.head_open"),
        lede=_lede(shown, say),
        strip=_strip(shown, cards, left, say=say) if left and shown else "",
        rows=tuple(_row(worth, sheet, cards, say, money=account.currency) for worth in shown),
        more=tuple(_row(worth, sheet, cards, say, money=account.currency) for worth in more),
        left=tuple(
            LeftRow(worth.check, name_of(worth, cards), say.sentence(worth.why)) for worth in todo if not worth.fits
        )[:12],
        open_now=tuple(cards.states[state].name for state in sorted(sheet.open_states) if state in cards.states),
    )


def name_of(worth: CheckWorth, cards: Cards) -> str:
    """The check's name as the cards have it; the account's own where the catalogue lacks it."""
    return cards.checks[worth.check].name if worth.check in cards.checks else worth.name


def _looked(sheet: Sheet, cards: Cards) -> list[str]:
    # Questions are asked while writing up; what was not done took no looking.
    silent = {"not looked at", "skipped", "not possible"}
    return [
        check
        for check, found in sheet.findings.items()
        if check in cards.checks and cards.checks[check].form != "question" and found.value.get("result") not in silent
    ]


def _lede(shown: list[CheckWorth], say: Say) -> str:
    if not shown:
        return say("checks.none")
    minutes = say.minutes(sum(worth.minutes for worth in shown))
    return say("checks.lede", count=len(shown), minutes=minutes)


def _row(worth: CheckWorth, sheet: Sheet, cards: Cards, say: Say, *, money: str) -> CheckRow:
    total = worth.acts_money + worth.explains_money
    needs = missing_states(worth.needs, sheet, cards)
    minutes = worth.perishes.minutes if worth.perishes else None
    state = worth.perishes.state if worth.perishes else ""
    named = cards.states[state].name if state in cards.states else state.replace("_", " ")
    said = ""
    if worth.perishes:
        key = "checks.window_minutes" if minutes is not None else "checks.window_state"
        said = say.sentence(worth.why) or say(key, minutes=say.minutes(minutes or 0.0), state=named)
    return CheckRow(
        id=worth.check,
        name=name_of(worth, cards),
        minutes=f"{worth.minutes:.0f}",
        worth=say("checks.worth", money=say.money(total, money)),
        why="" if worth.perishes else say.sentence(worth.why),
        window=_window(minutes) if worth.perishes else "",
        window_says=said,
        needs=say("checks.needs", states=say.words.listed(needs)) if needs else "",
    )


def _window(minutes: float | None) -> str:
    share = 1.0 if minutes is None else min(1.0, minutes / _WINDOW_FULL_MINUTES)
    return tag(
        "svg",
        tag("rect", width=_WINDOW_PX, height=14, class_="steel"),
        tag("rect", width=_WINDOW_PX * share, height=14, class_="solid"),
        width=_WINDOW_PX,
        height=14,
        aria_hidden="true",
    )


def _strip(shown: list[CheckWorth], cards: Cards, left: float, *, say: Say) -> str:
    frame, at, marks = Drawn(), 0.0, []
    for worth in shown:
        end = min(1.0, at + worth.minutes / left)
        if end > at:
            marks.append(tag("rect", y=6, height=26, class_="act", **frame.bar(at, max(at, end - 0.004))))
        at = end
    if at < 1.0:
        marks.append(tag("rect", y=7, height=24, class_="open", **frame.bar(at, 1.0)))
        if 1.0 - at > 0.3:
            marks.append(text(say("checks.kept_free"), x=frame.x((at + 1.0) / 2.0), y=25))
    step = next(step for step in (1, 5, 10, 15, 30, 60) if left / step <= 6)
    for minute in range(0, int(left) + 1, step):
        place = minute / left
        marks += [
            frame.upright(place, 38.0, 48.0),
            text(str(minute), x=frame.x(place), y=66, class_="start" if minute == 0 else "end" if place > 0.97 else ""),
        ]
    marks.append(frame.level(38.0))
    names = say.words.listed(
        tuple(say("checks.strip_item", name=name_of(worth, cards), minutes=round(worth.minutes)) for worth in shown)
    )
    return frame.picture(*marks, height_px=72.0, says=say("checks.strip", names=names, left=say.minutes(left)))
