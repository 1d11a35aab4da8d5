"""What explains it: the bridge and a row for every cause."""

import re
from dataclasses import dataclass

from lostgallon.paper.bridge import Bridge, Step, lay_bridge, worth_a_row
from lostgallon.paper.bridge_svg import bridge_svg
from lostgallon.paper.look import kind_id
from lostgallon.paper.row_words import not_enough_words
from lostgallon.paper.sayings import REAL, cause_name, plain_sentence, sentence_case
from lostgallon.paper.steps_svg import open_marks, step_marks
from lostgallon.paper.svg import Frame as Drawn
from lostgallon.paper.svg import tag
from lostgallon.shop.account import Account
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Spread
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_BAR_PX = 22.0
_TEXT_RIGHT_UNTIL = 0.54


_KEY = re.compile(r"\[(\w+)\] (\w+)")
"""A key as a case file has it: `[visit] promised`."""


@dataclass(frozen=True)
class Row:
    """One cause: letter, name, kind in words, figure in both units, its step as a picture, and its reasons.

    `side` says whether its words stand after or before the step on a wide screen, `pad_pct` how far in.
    """

    letter: str
    name: str
    pattern: str
    kind: str
    middle: str
    likely: str
    unit: str
    other: str
    step: str
    side: str
    pad_pct: str
    because: tuple[str, ...]
    would_change: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """Circumstances, faults or the open part: heading, what they come to, and their rows."""

    title: str
    total: str
    rows: tuple[Row, ...]
    empty: str


@dataclass(frozen=True)
class Explains:
    """The section.

    Attributes:
        lost: The loss, the one large figure; empty where none is real.
        lost_says: Its unit and interval.
        other: The same in the other unit.
        sentence: The account in a plain sentence.
        bridge: The picture.
        groups: Rows under the picture.
        small: Causes too small to draw, named.
        not_enough: What can't be said, and what it would take.
        numbers: Whose chances and sizes the account runs on.
    """

    lost: str
    lost_says: str
    other: str
    sentence: str
    bridge: str
    groups: tuple[Group, ...]
    small: tuple[str, ...]
    not_enough: tuple[str, ...]
    numbers: str = ""


def explains_of(sheet: Sheet, say: Say) -> Explains | None:
    """The section, or None before the first account."""
    account = sheet.account
    if account is None:
        return None
    bridge = lay_bridge(account, measure=say.words.measure)
    drawn = [step for step in bridge.steps if worth_a_row(step.entry)]
    lost = account.loss.lost_l_per_100km
    figures = _lost_figures(lost, say) if lost and account.loss.probability_real >= REAL else ("", "", "")
    return Explains(
        lost=figures[0],
        lost_says=figures[1],
        other=figures[2],
        sentence=plain_sentence(account, say.words),
        bridge=bridge_svg(bridge, say.words, frame=Drawn()),
        groups=(
            _group("explains.circumstances", account.circumstances_l_per_100km, drawn, say, faults=False),
            _group("explains.faults", account.faults_l_per_100km, drawn, say, faults=True),
            _open_group(bridge, account, say),
        ),
        small=tuple(cause_name(step.entry, say.words) for step in bridge.steps if step not in drawn),
        not_enough=tuple(
            _lack(lack, say) for lack in account.not_enough if not (sheet.sealed and _KEY.match(lack.would_take))
        ),
        numbers=say("numbers", says=say.words.told(account.numbers)) if account.numbers else "",
    )


def _lack(lack: NotEnough, say: Say) -> str:
    """What can't be said and what it would take; a key of a case file by the name its field has here."""
    key = _KEY.match(lack.would_take)
    if key is None:
        return sentence_case(not_enough_words(lack, say.words))
    return say("explains.lack", missing=lack.missing, field=say.words.named("field", f"{key[1]}.{key[2]}"))


def _lost_figures(lost: Spread, say: Say) -> tuple[str, str, str]:
    size, other = say.per_distance(lost), say.per_distance_other(lost)
    return (
        f"{size.middle} {say.unit}",
        say("explains.lost_says", length=say("unit.per_mi" if say.us else "unit.per_km"), low=size.low, high=size.high),
        say("explains.lost_other", middle=other.middle, unit=say("unit.l_long" if say.us else "unit.gal_long")),
    )


def _group(title: str, total: Spread | None, steps: list[Step], say: Say, *, faults: bool) -> Group:
    rows = tuple(_row(step, say) for step in steps if step.entry.fault is faults)
    return Group(
        title=say(title),
        total=say.about(total) if total else "",
        rows=rows,
        empty="" if rows else say(f"{title}_none"),
    )


def _row(step: Step, say: Say) -> Row:
    entry = step.entry
    size, other = say.per_distance(entry.l_per_100km), say.per_distance_other(entry.l_per_100km)
    side, pad_pct = _beside(*step.span)
    kind = say(f"kind.{entry.kind}")
    if entry.fault:
        kind = say("explains.there", kind=kind, chance=say.chance(entry.present))
    return Row(
        letter=step.letter,
        name=cause_name(entry, say.words),
        pattern=kind_id(entry.kind),
        kind=kind,
        middle=size.middle,
        likely="" if size.sharp else say("explains.likely", low=size.low, high=size.high),
        unit=say.unit,
        other=f"{other.middle} {say.other_unit}",
        step=_strip(step_marks(step, Drawn(), top_px=0.0, bar_px=_BAR_PX)),
        side=side,
        pad_pct=pad_pct,
        because=tuple(say.sentence(text) for text in entry.because),
        would_change=entry.would_change_it,
    )


def _open_group(bridge: Bridge, account: Account, say: Say) -> Group:
    part = bridge.open
    size = say.per_distance(part.l_per_100km)
    side, pad_pct = _beside(min(part.low, part.middle), max(part.high, part.middle))
    row = Row(
        letter="",
        name=say("explains.open"),
        pattern="",
        kind=say("explains.negative" if part.l_per_100km.p50 < 0 else "explains.open_says"),
        middle=size.middle,
        likely="" if size.sharp else say("explains.likely", low=size.low, high=size.high),
        unit=say.unit,
        other="",
        step=_strip(open_marks(part, Drawn(), top_px=0.0, bar_px=_BAR_PX)),
        side=side,
        pad_pct=pad_pct,
        because=(),
        would_change=(),
    )
    total = say.about(account.not_accounted_for_l_per_100km)
    return Group(title=say("explains.not_accounted"), total=total, rows=(row,), empty="")


def _strip(marks: list[str]) -> str:
    return tag("svg", *marks, class_="step", height=_BAR_PX, aria_hidden="true")


def _beside(left: float, right: float) -> tuple[str, str]:
    """Where words stand on a wide screen: after a step that ends early, before one that starts late, else above it.

    Returns:
        The side, and how far in from it, per cent of the width.
    """
    if right <= _TEXT_RIGHT_UNTIL:
        return "after", f"{right * 100.0:.1f}%"
    if left >= 1.0 - _TEXT_RIGHT_UNTIL:
        return "before", f"{(1.0 - left) * 100.0:.1f}%"
    return "above", "0"
