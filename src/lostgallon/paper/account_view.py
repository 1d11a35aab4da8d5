"""The account in a terminal: everything of one visit in 80 columns, the plain sentence first."""

from collections.abc import Iterator

from lostgallon.paper.account_rows import (
    after_care_rows,
    check_rows,
    correction_rows,
    finding_rows,
    not_enough_rows,
    proof_rows,
    stop_rows,
)
from lostgallon.paper.bridge import Bridge, lay_bridge
from lostgallon.paper.bridge_text import (
    bridge_lines,
    open_line,
    step_lines,
)
from lostgallon.paper.figures import figure, rounded
from lostgallon.paper.sayings import figures_sentence, loss_sentence, plain_sentence, vehicle_line
from lostgallon.paper.terminal import Line, heading, printed, wrapped
from lostgallon.paper.time_text import time_rows
from lostgallon.paper.told_record import told_record
from lostgallon.paper.words import Words, words_of
from lostgallon.shop.account import Account
from lostgallon.shop.spread import Spread
from lostgallon.shop.visit import Case

_NARROWEST = 80


def account_text(account: Account, case: Case, *, width: int = _NARROWEST, color: bool = False) -> str:
    """The whole account as text.

    Args:
        account: What is to be shown.
        case: The visit it belongs to.
        width: Columns; never fewer than 80.
        color: Whether kinds of cause are colored, with codes of a 256-color terminal.
    """
    words = words_of(case)
    account = told_record(account, words)
    columns = max(width, _NARROWEST)
    sections = (
        _opening(account, case, words, columns),
        stop_rows(account, words, columns),
        bridge_text(account, words, columns),
        finding_rows(account, words, columns),
        check_rows(account, case, words, width=columns),
        correction_rows(account, words, columns),
        time_rows(account, case, words, width=columns),
        proof_rows(account, words, columns),
        after_care_rows(account, words, columns),
        not_enough_rows(account, words, columns),
        wrapped(words("numbers", says=words.told(account.numbers)), columns) if account.numbers else [],
        wrapped(words("deferral"), columns),
    )
    lines = [line for section in sections if section for line in (*section, Line(columns))]
    return printed(lines[:-1], color=color) + "\n"


def _opening(account: Account, case: Case, words: Words, width: int) -> list[Line]:
    said = f"Lost Gallon   {vehicle_line(case, words)}"
    booked = words("vehicle.in_for", operation=case.booked.operation) if case.booked.operation else ""
    first = (
        [Line(width, f"{said}   {booked}".rstrip())]
        if len(said) + len(booked) + 3 < width
        else [Line(width, said), *wrapped(booked, width, first="              ")]
    )
    return [
        *first,
        Line(width),
        *wrapped(plain_sentence(account, words), width, first=""),
        *wrapped(loss_sentence(account.loss, words), width, first=""),
        *wrapped(figures_sentence(account.loss, words), width, first=""),
    ]


def bridge_text(account: Account, words: Words, width: int) -> list[Line]:
    """The bridge and its steps, with the heading of each group."""
    bridge = lay_bridge(account, measure=words.measure)
    return [*bridge_lines(bridge, words, width=width), Line(width), *_groups(account, bridge, words, width)]


def _groups(account: Account, bridge: Bridge, words: Words, width: int) -> Iterator[Line]:
    shown = [step for step in bridge.steps if step.shown]
    for fault, key, total in (
        (False, "head.circumstances", account.circumstances_l_per_100km),
        (True, "head.faults", account.faults_l_per_100km),
    ):
        steps = [step for step in shown if step.entry.fault is fault]
        if steps:
            yield from heading(words(key), _total(total, words), width)
            for step in steps:
                yield from step_lines(step, words, width=width)
    yield from heading(words("head.open"), _total(bridge.open.l_per_100km, words), width)
    yield open_line(bridge, words, width=width)
    yield Line(width)
    yield from _legend(bridge, words, width, hidden=len(bridge.steps) - len(shown))


def _total(total: Spread | None, words: Words) -> str:
    if total is None:
        return ""
    size = figure(total, factor=words.measure.fuel)
    key = "about" if size.sharp else "about_likely"
    return words(key, middle=size.middle, low=size.low, high=size.high)


def _legend(bridge: Bridge, words: Words, width: int, *, hidden: int) -> Iterator[Line]:
    yield Line(width, f" {words('legend.marks')}")
    yield from wrapped(words("legend.add"), width)
    rest = bridge.unsettled_l_per_100km * words.measure.fuel
    if abs(rest) >= 0.05:
        key = "legend.medians_drawn" if bridge.spans and rest > 0.0 else "legend.medians"
        yield from wrapped(words(key, rest=rounded(rest, 0.05)), width)
    if hidden:
        yield from wrapped(words("legend.small", count=hidden), width)
