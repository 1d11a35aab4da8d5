"""Writes docs/catalogue.md from the data: python -m tools.catalogue_page. A test holds the two together."""

from collections.abc import Iterable
from pathlib import Path

from lostgallon.causes.catalogue import Catalogue, catalogue
from lostgallon.causes.records import Cause, Check, Gauge, Operation, PriorRule, Reading

PAGE = Path(__file__).resolve().parent.parent / "docs" / "catalogue.md"
HEAD = """# The catalogue

Written by `python -m tools.catalogue_page` from `src/lostgallon/data/catalogue/`; edit there, not here. A shop's own
numbers go into a file of its own (`causes/own.py`). After every number stands its class of source.

"""


def number(value: float) -> str:
    """A number without needless digits."""
    return f"{value:g}"


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A Markdown table; bars within cells are written out."""
    names = list(heads)
    lines = [f"| {' | '.join(names)} |", f"|{'---|' * len(names)}"]
    lines += [f"| {' | '.join(cell.replace('|', '/') for cell in row)} |" for row in rows]
    return "\n".join(lines) + "\n"


def rule_text(rule: PriorRule) -> str:
    """A prior rule in one line."""
    does = f"probability {number(rule.set)}" if rule.set is not None else f"odds x {number(rule.odds or 0.0)}"
    return f"{rule.why}: {does}"


def cause_text(cause: Cause, whole: Catalogue) -> str:
    """One cause as a section."""
    lines = [f"### {cause.name} (`{cause.id}`)", "", f"{cause.kind}, {'fault' if cause.fault else 'circumstance'}"]
    lines[-1] += ", paper" if cause.paper else ""
    lines += [f"- {cause.mechanism}"]
    if cause.severity:
        size = cause.severity
        ends = f"{number(size.p05)}, {number(size.p50)}, {number(size.p99)}"
        lines.append(f"- condition `{cause.condition}`: 5th, 50th, 99th percentile {ends} [{size.source}]")
    pct = cause.effect_pct
    ends = f"{number(pct.low)} / {number(pct.typical)} / {number(pct.worst)} %"
    lines.append(f"- for orientation {ends} on {pct.acts_on} [{pct.source}]")
    if cause.prior_new and cause.already_there:
        by = [cause.prior_new.under_80k_km, cause.prior_new.km_80k_to_200k, cause.prior_new.over_200k_km]
        lines.append(f"- new: {' / '.join(map(number, by))} by distance run [{cause.prior_new.source}]")
        lines.append(f"- already there: {number(cause.already_there.share)} [{cause.already_there.source}]")
    lines += [f"- rule: {rule_text(rule)}" for rule in cause.prior_rules]
    harm = cause.harm_if_left_money
    if harm.high:
        lines.append(
            f"- harm if left: {number(harm.low)} / {number(harm.typical)} / {number(harm.high)} [{harm.source}]"
        )
    lines.append(f"- correction: {whole.operation[cause.operation].name}. {cause.advice_text}")
    lines.append(f"- wrong conclusion: {cause.wrong_conclusion}")
    return "\n".join(lines) + "\n"


def reading_rows(reading: Reading) -> Iterable[tuple[str, str, str, str]]:
    """Table rows of one reading: text, cause, detection, class of source."""
    alarm = "" if reading.false_alarm is None else ", ".join(map(number, reading.false_alarm))
    extra = " (new only)" if reading.new_only else ""
    extra += "".join(f" (masked by {mask.cause})" for mask in reading.masked_by)
    yield f"**{reading.id}** {reading.text}{extra}", "sound vehicle", alarm or "moves no belief", reading.source or ""
    for name, ends in reading.finds:
        yield "", name, ", ".join(map(number, ends)), ""


def gauge_text(gauge: Gauge) -> str:
    """A gauge in one line."""
    curve = f"{number(gauge.normal)} + {number(gauge.factor)} x amount^{number(gauge.power)}"
    widths = f"sd {number(gauge.gauge_sd)}, relative {number(gauge.relative_sd)}"
    wrong = f"wrong readings {number(gauge.outlier_share)}"
    told = f"- gauge: `{gauge.condition}` by {gauge.says}; value = {curve}; {widths}, {wrong}"
    return f"{told}; limit {gauge.limit} [{gauge.source}]"


def check_text(check: Check) -> str:
    """One check as a section."""
    wait = f", then {number(check.wait_minutes)} min waiting" if check.wait_minutes else ""
    lines = [f"### {check.name} (`{check.id}`)", "", f"{check.form}, {number(check.minutes)} min{wait}"]
    lines[-1] += f", needs {', '.join(check.needs)}" if check.needs else ""
    lines[-1] += f", looks at {check.looks_at}" if check.looks_at else ""
    lines += [f"- {limit.what}: {limit.limit} [{limit.source}]" for limit in check.limits]
    lines += [gauge_text(check.gauge)] if check.gauge else []
    lines.append("")
    rows = [row for reading in check.readings for row in reading_rows(reading)]
    return "\n".join(lines) + "\n" + table(("reading", "cause", "reads so: low, typical, high", "class"), rows)


def operation_row(work: Operation) -> tuple[str, ...]:
    """Table row of one correction."""
    opened = ", ".join(f"{state} {number(minutes)}" for state, minutes in work.minutes_open)
    parts = f"{number(work.parts_money.low)} / {number(work.parts_money.likely)} / {number(work.parts_money.high)}"
    return (work.name, number(work.minutes_alone), opened, parts, ", ".join(work.fill_in), ", ".join(work.confirmed_by))


def page(whole: Catalogue) -> str:
    """The whole page as Markdown."""
    parts = [HEAD, "## Classes of source\n\n"]
    parts.append(table(("class", "means"), ((entry.id, entry.means) for entry in whole.source_classes)))
    parts.append("\n## Numbers of the method\n\n")
    rows = ((entry.id, number(entry.value), entry.source, entry.why) for entry in whole.method)
    parts.append(table(("number", "value", "class", "why"), rows))
    parts.append("\n## Causes\n\n" + "\n".join(cause_text(cause, whole) for cause in whole.causes))
    parts.append("\n## Checks\n\n" + "\n".join(check_text(check) for check in whole.checks))
    parts.append("\n## Corrections\n\n")
    heads = ("correction", "minutes alone", "minutes where open", "parts", "to be filled in", "confirmed by")
    parts.append(table(heads, map(operation_row, whole.operations)))
    parts.append("\n## Safety stops\n\n")
    stops = ((stop.id, stop.what, stop.cleared_by or "nothing but the repair") for stop in whole.stops)
    parts.append(table(("stop", "what", "cleared by"), stops))
    parts.append("\n## Trouble codes (SAE J2012)\n\n")
    codes = ((group.reading, ", ".join(group.codes), group.means) for group in whole.codes)
    parts.append(table(("reading of the kept memory", "codes", "means"), codes))
    parts.append("\n## Look-alikes\n\n")
    looks = ((entry.id, entry.what, number(entry.prior), number(entry.detect)) for entry in whole.look_alikes)
    parts.append(table(("looks at", "what looks alike", "prior", "reads so"), looks))
    parts.append("\n## What acts on what\n\n")
    parts.append("\n".join(f"- {entry.fact}" for entry in whole.interactions) + "\n")
    return "".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(catalogue()), "utf-8")
    print(PAGE)
