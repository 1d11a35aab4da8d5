"""The lists of an account in a terminal: the stop, findings, checks, corrections, proof."""

from collections.abc import Iterable

from lostgallon.paper.figures import typed, whole
from lostgallon.paper.row_words import (
    RESULT_WORDS,
    after_care_words,
    finding_words,
    limit_words,
    not_enough_words,
    payback_words,
    price_words,
    proof_words,
    saving_words,
)
from lostgallon.paper.rule import rule_of
from lostgallon.paper.rule_text import rule_lines
from lostgallon.paper.sayings import ended, money, sentence_case, stop_cleared, stop_what
from lostgallon.paper.terminal import Line, heading, wrapped
from lostgallon.paper.words import Words
from lostgallon.shop.account import Account, CheckWorth, Correction, FindingRow
from lostgallon.shop.visit import SILENT_RESULTS, Case

_ADVICE_WORDS = {
    "done": "correction.done",
    "today": "correction.today",
    "later": "correction.later",
    "not for fuel": "correction.not_for_fuel",
    "stop": "correction.stop",
}
_MOST_CHECKS, _LEAST_WORTH = 8, 1.0


def _spaced(groups: Iterable[list[Line]], width: int) -> list[Line]:
    lines = [line for group in groups for line in (*group, Line(width))]
    return lines[:-1]


def stop_rows(account: Account, words: Words, width: int) -> list[Line]:
    """The safety stop, before anything else."""
    stop = account.stop
    if stop is None:
        return []
    because = [ended(words("stop.because", reason=why).rstrip(".")) for why in stop.because]
    return [
        *wrapped(stop_what(stop, words), width, first=f" {words('head.stop')}  ", rest="       "),
        *(line for why in because for line in wrapped(why, width, first="       ")),
        *wrapped(stop_cleared(account, words), width, first="       "),
        *wrapped(words("stop.priced"), width, first="       "),
    ]


def finding_rows(account: Account, words: Words, width: int) -> list[Line]:
    """Every finding; measured ones on a rule. What was not looked at stands on one line at the end."""
    told = [row for row in account.findings if row.result not in SILENT_RESULTS]
    silent = [row for row in account.findings if row.result in SILENT_RESULTS]
    if not account.findings:
        return []
    groups = [_finding(row, words, width) for row in told]
    groups += [_silent(silent, words, width)] if silent else []
    return [*heading(words("head.findings"), "", width), *_spaced(groups, width)]


def _silent(rows: list[FindingRow], words: Words, width: int) -> list[Line]:
    by_result = {row.result: [other.name for other in rows if other.result == row.result] for row in rows}
    return [
        line
        for result, names in by_result.items()
        if result
        for line in wrapped(f"{words(RESULT_WORDS[result]).capitalize()}: {', '.join(names)}.", width, rest="   ")
    ]


def _finding(row: FindingRow, words: Words, width: int) -> list[Line]:
    rule = rule_of(row)
    where = f", {', '.join(row.place)}" if row.place and rule is None else ""
    values = "" if rule else typed(", ".join(row.value))
    said = " ".join(part for part in (values, finding_words(row, words)) if part)
    limit = limit_words(row, words)
    return [
        *heading(f"{row.name}{where}", limit, width),
        *(rule_lines(rule, width=width) if rule else ()),
        *(wrapped(said, width) if said else ()),
    ]


def _cautions(texts: tuple[str, ...], words: Words, width: int, *, first: str) -> list[Line]:
    said = [words("check.caution", text=words.caution(text)) for text in texts]
    return [line for caution in said for line in wrapped(caution, width, first=first)]


def check_rows(account: Account, case: Case, words: Words, *, width: int) -> list[Line]:
    """The few checks worth making next, with minutes, worth, what is open, and the caution before the step."""
    if account.stop and not account.checks:
        return []
    left = case.booked.looking_minutes
    right = words("head.minutes_left", minutes=whole(left)) if left else ""
    worth = [check for check in account.checks if account.stop or (check.fits and _worth(check) >= _LEAST_WORTH)]
    shown = worth[:_MOST_CHECKS]
    currency = None if account.stop else account.currency
    body = [line for check in shown for line in _check(check, currency, words, width=width)]
    more = len(account.checks) - len(shown)
    note = wrapped(words("check.more", count=more), width) if more else []
    return [*heading(words("head.checks"), right, width), *(body or wrapped(words("check.none"), width)), *note]


def _worth(check: CheckWorth) -> float:
    return check.acts_money + check.explains_money


def _check(check: CheckWorth, currency: str | None, words: Words, *, width: int) -> list[Line]:
    minutes = f"{whole(check.minutes):>3}"
    first = words("check.line_unpriced", minutes=minutes)
    if currency is not None:
        first = words("check.line", minutes=minutes, money=f"{money(_worth(check), currency):<5}")
    name = words.named("check", check.check, otherwise=check.name)
    said = f"{name}. {ended(check.why)}" if check.why else f"{name}."
    window = _window(check, words)
    before = [
        row for text in check.cautions for row in wrapped(words("check.caution", text=words.caution(text)), width)
    ]
    line = wrapped(
        f"{said} {sentence_case(window)}.".replace("..", ".") if window else said,
        width,
        first=f" {first}",
        rest=" " * 22,
    )
    return [*before, *line]


def _window(check: CheckWorth, words: Words) -> str:
    if not check.fits:
        return words("check.no_fit")
    if check.perishes is None:
        return ""
    if check.perishes.minutes is None:
        return words("check.perishes", state=words.named("state", check.perishes.state))
    return words("check.open_until", minutes=whole(check.perishes.minutes))


def correction_rows(account: Account, words: Words, width: int) -> list[Line]:
    """Corrections with their advice, price alone and today, what they save, and cautions before."""
    planned = {step.what for step in account.plan.steps}
    groups = [
        _correction(row, account.currency, words, width=width, planned=row.name in planned)
        for row in account.corrections
    ]
    if not groups:
        return [] if account.stop else wrapped(words("correction.none"), width)
    return [*heading(words("head.corrections"), "", width), *_spaced(groups, width)]


def _correction(row: Correction, currency: str, words: Words, *, width: int, planned: bool) -> list[Line]:
    # A caution stands before the step: in the plan where the work is planned, here where it is about to be done.
    cautions = row.cautions if row.advice in ("today", "stop") and not planned else ()
    name = words.named("operation", row.operation, otherwise=row.name)
    title = f"{words(_ADVICE_WORDS[row.advice])}  {name}"
    said = [ended(typed(row.because))]
    if row.advice != "not for fuel" and row.saves_money_per_year is not None:
        said += [saving_words(row, currency, words), payback_words(row, words)]
    if row.trigger and row.advice != "stop":
        said.append(words("correction.trigger", trigger=row.trigger))
    if row.fill_in and row.advice != "done":
        said.append(words("correction.fill_in", fields=", ".join(row.fill_in)))
    return [
        *heading(title, price_words(row, currency, words), width),
        *_cautions(cautions, words, width, first="   "),
        *wrapped(" ".join(part for part in said if part), width, first="   "),
    ]


def proof_rows(account: Account, words: Words, width: int) -> list[Line]:
    """What the next fills should show, and the rule they will be judged by."""
    proof = account.proof
    said = [proof_words(account, words), proof.rule]
    if proof.tanks_needed is not None:
        said.append(words("proof.tanks", count=proof.tanks_needed))
    text = " ".join(part for part in said if part)
    return [*heading(words("head.proof"), "", width), *wrapped(text, width)] if text else []


def after_care_rows(account: Account, words: Words, width: int) -> list[Line]:
    """What today's work asks for later."""
    rows = [line for care in account.after_care for line in wrapped(after_care_words(care, words), width, rest="   ")]
    return [*heading(words("head.after_care"), "", width), *rows] if rows else []


def not_enough_rows(account: Account, words: Words, width: int) -> list[Line]:
    """What can't be said yet, and what it would take."""
    rows = [
        line for notice in account.not_enough for line in wrapped(not_enough_words(notice, words), width, rest="   ")
    ]
    return [*heading(words("head.not_enough"), "", width), *rows] if rows else []
