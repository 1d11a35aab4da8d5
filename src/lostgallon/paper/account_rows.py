"""The lists of an account in a terminal: the stop, findings, checks, corrections, proof."""

from collections.abc import Iterable

from lostgallon.paper.figures import GAL, GAL_PER_100MI, MI, figure, plain, typed, whole
from lostgallon.paper.rule import rule_of
from lostgallon.paper.rule_text import rule_lines
from lostgallon.paper.sayings import duration, money, stop_cleared, stop_what
from lostgallon.paper.terminal import Line, heading, wrapped
from lostgallon.paper.words import Words
from lostgallon.shop.account import Account, AfterCare, CheckWorth, Correction, FindingRow
from lostgallon.shop.visit import SILENT_RESULTS, Case

RESULT_WORDS = {
    "normal": "finding.in_order",
    "found": "finding.found",
    "not looked at": "finding.not_looked_at",
    "skipped": "finding.skipped",
    "not possible": "finding.not_possible",
}
_ADVICE_WORDS = {
    "today": "correction.today",
    "later": "correction.later",
    "not for fuel": "correction.not_for_fuel",
    "stop": "correction.stop",
}
_FEW_MONTHS = 1.0


def _spaced(groups: Iterable[list[Line]], width: int) -> list[Line]:
    lines = [line for group in groups for line in (*group, Line(width))]
    return lines[:-1]


def stop_rows(account: Account, words: Words, width: int) -> list[Line]:
    """The safety stop, before anything else."""
    stop = account.stop
    if stop is None:
        return []
    return [
        *wrapped(stop_what(stop, words), width, first=f" {words('head.stop')}  ", rest="       "),
        *(line for why in stop.because for line in wrapped(words("stop.because", reason=why), width, first="       ")),
        *wrapped(stop_cleared(stop, words), width, first="       "),
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


def limit_words(row: FindingRow, words: Words) -> str:
    """The limit with its source, or that none was entered."""
    if row.limit is None:
        return words("finding.no_limit") if row.value else ""
    if row.limit_source is None:
        return words("finding.limit_plain", limit=typed(row.limit))
    return words("finding.limit", limit=typed(row.limit), source=row.limit_source)


def finding_words(row: FindingRow, words: Words) -> str:
    """What a finding says: how far outside, or inside, or as it was seen."""
    parts = [*row.readings]
    if row.outside_by:
        parts.append(words("finding.outside", by=typed(row.outside_by)))
    elif row.value and row.limit:
        parts.append(f"{words('finding.inside').capitalize()}.")
    elif row.result and not row.value and not row.readings:
        parts.append(words("finding.seen", result=words(RESULT_WORDS[row.result]).capitalize()))
    elif row.result:
        parts.append(f"{words(RESULT_WORDS[row.result]).capitalize()}.")
    if row.before_good_days:
        parts.append(words("finding.before"))
    return " ".join(parts)


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


def check_rows(account: Account, case: Case, words: Words, *, width: int) -> list[Line]:
    """Checks worth making next, with minutes, worth, what is open, and the caution before the step."""
    if account.stop and not account.checks:
        return []
    left = case.booked.looking_minutes
    right = words("head.minutes_left", minutes=whole(left)) if left else ""
    body = [line for check in account.checks for line in _check(check, account.currency, words, width=width)]
    return [*heading(words("head.checks"), right, width), *(body or wrapped(words("check.none"), width))]


def _check(check: CheckWorth, currency: str, words: Words, *, width: int) -> list[Line]:
    first = words(
        "check.line",
        minutes=f"{whole(check.minutes):>3}",
        money=f"{money(check.acts_money + check.explains_money, currency):<5}",
        name=words.named("check", check.check, otherwise=check.name),
    )
    line = heading(first, _window(check, words), width)
    before = [
        row for text in check.cautions for row in wrapped(words("check.caution", text=words.caution(text)), width)
    ]
    return [*before, *line, *wrapped(check.why, width, first=" " * 9)]


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
    groups = [_correction(row, account.currency, words, width=width) for row in account.corrections]
    if not groups:
        return [] if account.stop else wrapped(words("correction.none"), width)
    return [*heading(words("head.corrections"), "", width), *_spaced(groups, width)]


def price_words(row: Correction, currency: str, words: Words) -> str:
    """Minutes and, where it is priced, money today."""
    same = round(row.minutes_now) == round(row.minutes_alone)
    minutes = words(
        "correction.minutes_same" if same else "correction.minutes",
        now=whole(row.minutes_now),
        alone=whole(row.minutes_alone),
    )
    if row.total_money is None:
        return minutes
    charge = words("correction.money", total=money(row.total_money, currency))
    return f"{minutes}, {words('correction.no_charge') if row.total_money == 0 else charge}"


def saving_words(row: Correction, currency: str, words: Words, *, prices: bool = True) -> str:
    """What a correction saves a year, in fuel and (where prices may be shown) in money, as a band."""
    fuel = figure(row.saves_l_per_year, factor=GAL, smallest=0.5)
    sentence = words("correction.saves", gal=fuel.middle, low=fuel.low, high=fuel.high)
    if row.saves_money_per_year is None or not prices:
        return f"{sentence}."
    low, high = (money(end, currency) for end in (row.saves_money_per_year.p05, row.saves_money_per_year.p95))
    return words("correction.saves_money", gal_sentence=sentence, low=low, high=high)


def payback_words(row: Correction, words: Words) -> str:
    """How long until fuel pays for it."""
    if row.pays_back_months is None:
        return "" if row.advice == "stop" else words("correction.pays_never")
    if row.pays_back_months.p95 < _FEW_MONTHS:
        return words("correction.pays_at_once")
    return words("correction.pays_back", span=duration(row.pays_back_months, words))


def _correction(row: Correction, currency: str, words: Words, *, width: int) -> list[Line]:
    name = words.named("operation", row.operation, otherwise=row.name)
    title = f"{words(_ADVICE_WORDS[row.advice])}  {name}"
    said = [row.because]
    if row.advice != "not for fuel" and row.saves_money_per_year is not None:
        said += [saving_words(row, currency, words), payback_words(row, words)]
    if row.trigger and row.advice != "stop":
        said.append(words("correction.trigger", trigger=row.trigger))
    if row.fill_in:
        said.append(words("correction.fill_in", fields=", ".join(row.fill_in)))
    return [
        *heading(title, price_words(row, currency, words), width),
        *(
            line
            for text in row.cautions
            for line in wrapped(words("check.caution", text=words.caution(text)), width, first="   ")
        ),
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


def proof_words(account: Account, words: Words) -> str:
    """The expected figure after the work, in both units."""
    expected = account.proof.expected_l_per_100km
    if expected is None:
        return ""
    size, liters = figure(expected, factor=GAL_PER_100MI), figure(expected)
    return words(
        "proof.expected", middle=size.middle, low=size.low, high=size.high, l_low=liters.low, l_high=liters.high
    )


def after_care_words(care: AfterCare, words: Words) -> str:
    """What to do later, with its distance or days."""
    values = {"what": care.what, "why": care.why}
    if care.within_km is not None:
        values["miles"] = plain(care.within_km * MI)
    if care.within_days is not None:
        values["days"] = str(care.within_days)
    which = {(True, True): "both", (True, False): "distance", (False, True): "days"}
    key = which.get((care.within_km is not None, care.within_days is not None))
    return words(f"after.within_{key}" if key else "after.plain", **values)


def after_care_rows(account: Account, words: Words, width: int) -> list[Line]:
    """What today's work asks for later."""
    rows = [line for care in account.after_care for line in wrapped(after_care_words(care, words), width, rest="   ")]
    return [*heading(words("head.after_care"), "", width), *rows] if rows else []


def not_enough_rows(account: Account, words: Words, width: int) -> list[Line]:
    """What can't be said yet, and what it would take."""
    rows = [
        line
        for notice in account.not_enough
        for line in wrapped(
            words("not_enough.line", missing=notice.missing, would_take=notice.would_take), width, rest="   "
        )
    ]
    return [*heading(words("head.not_enough"), "", width), *rows] if rows else []
