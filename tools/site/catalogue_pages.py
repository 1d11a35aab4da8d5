"""One page for each cause and each check of the catalogue, for reading: what a technician asks about it."""

from collections.abc import Iterable, Iterator

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Cause, Check, EffectPct, Ends, Operation, Reading
from tools.catalogue_page import number, table

KINDS = {
    "season": "Season",
    "use": "Use",
    "tires": "Tires",
    "engine": "Engine",
    "brakes_driveline": "Brakes and driveline",
    "electrical": "Electrical",
    "measurement": "Measurement",
}
LOOKS = {
    "question": "a question to the owner",
    "look": "a look",
    "measure": "a measurement",
    "record": "from a record",
    "derived": "worked out from other findings",
}
DEFERS = """
!!! warning "Before you start"
    The vehicle maker's service information, local law and a licensed professional's judgement come before anything on
    this page.
"""
CAUSES_HEAD = """# Causes

What can raise fuel use. The last column is for orientation: the account works it out for the vehicle at hand.

"""


def cause_pages(whole: Catalogue) -> dict[str, str]:
    """Place and Markdown of the page of every cause, and of their list."""
    told = {f"causes/{cause.id}.md": _cause(cause, whole) for cause in whole.causes}
    return {"causes/index.md": _cause_list(whole.causes), **told}


def check_pages(whole: Catalogue) -> dict[str, str]:
    """Place and Markdown of the page of every check, and of their list."""
    told = {f"checks/{check.id}.md": _check(check, whole) for check in whole.checks}
    return {"checks/index.md": _check_list(whole.checks), **told}


def trim_table(whole: Catalogue) -> str:
    """The trim patterns: total trim in per cent at idle, cruise and load, and what they point at."""
    rows = (
        (
            entry.idle,
            entry.cruise,
            entry.load,
            entry.banks,
            ", ".join(_link(one, whole) for one in entry.causes),
            entry.why,
        )
        for entry in whole.trim_patterns
    )
    return table(("idle", "cruise", "load", "banks", "points at", "because"), rows)


def _link(cause: str, whole: Catalogue) -> str:
    return f"[{whole.cause[cause].name}](../causes/{cause}.md)"


def _cause_list(causes: Iterable[Cause]) -> str:
    rows = [
        (f"[{c.name}]({c.id}.md)", KINDS[c.kind], "fault" if c.fault else "circumstance", _effect(c)) for c in causes
    ]
    return CAUSES_HEAD + table(("cause", "kind", "", "more fuel: low, typical, worst"), rows)


def _check_list(checks: Iterable[Check]) -> str:
    rows = [(f"[{check.name}]({check.id}.md)", LOOKS[check.form], f"{number(check.minutes)} min") for check in checks]
    return "# Checks\n\nWhat one can ask, look at, measure or drive.\n\n" + table(("check", "is", "takes"), rows)


def _effect(cause: Cause) -> str:
    pct: EffectPct = cause.effect_pct
    return f"{number(pct.low)} / {number(pct.typical)} / {number(pct.worst)} % ({pct.acts_on})"


def _cause(cause: Cause, whole: Catalogue) -> str:
    work = whole.operation[cause.operation]
    sort = "a fault that can be corrected" if cause.fault else "a circumstance, nothing to repair"
    sort += "; it moves figures, not fuel" if cause.paper else ""
    parts = [
        f"# {cause.name}\n\n{KINDS[cause.kind]}; {sort}. Id `{cause.id}`.\n\n",
        f"**What happens.** {_sentence(cause.mechanism)}\n\n",
        f"**What it costs, for orientation.** {_effect(cause)}. {_sentence(cause.effect_pct.scale)}\n",
        _listed("What the owner may say", (f"“{said}”" for said in cause.owner_says)),
        _listed("Signs", cause.signs),
        "\n## Which checks tell\n\n",
        _finders(cause, whole),
        f"\n## The correction: {work.name}\n\n{_sentence(cause.advice_text)}\n",
        _work(work),
        _listed("Cautions, before the work", _cautions((*cause.cautions, *work.cautions), whole)),
        f"\n## A common wrong conclusion\n\n{_sentence(cause.wrong_conclusion)}\n",
        f"\n{_sentence(cause.note)}\n" if cause.note else "",
        DEFERS,
    ]
    return "".join(parts)


def _sentence(text: str) -> str:
    """Notes of the catalogue as sentences."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


def _listed(head: str, items: Iterable[str]) -> str:
    lines = [f"- {item}" for item in items]
    return f"\n**{head}**\n\n" + "\n".join(lines) + "\n" if lines else ""


def _cautions(ids: Iterable[str], whole: Catalogue) -> Iterator[str]:
    return (_sentence(whole.caution[one]) for one in dict.fromkeys(ids))


def _finders(cause: Cause, whole: Catalogue) -> str:
    rows = [
        (f"[{check.name}](../checks/{check.id}.md)", reading.text, _percent(ends), _percent(reading.false_alarm))
        for check in whole.checks
        for reading in check.readings
        for name, ends in reading.finds
        if name == cause.id
    ]
    gauges = [
        (
            f"[{check.name}](../checks/{check.id}.md)",
            f"measures it: {check.gauge.limit}",
            "by the amount",
            "by the gauge's error",
        )
        for check in whole.checks
        if check.gauge and cause.id in check.gauge.sees
    ]
    if not rows and not gauges:
        return "None: it is worked out from the case.\n"
    return table(("check", "reads", "with this cause", "on a sound vehicle"), gauges + rows)


def _percent(ends: Ends | None) -> str:
    return "" if ends is None else f"{number(round(100 * ends[1], 1))} %"


def _work(work: Operation) -> str:
    fill = ", ".join(work.fill_in)
    return (
        f"\n{_sentence(work.text)} About {number(work.minutes_alone)} min by itself; less where something is open."
        + (f" To be filled in from the service information: {fill}." if fill else "")
        + (f" It is also good for: {work.other_grounds}." if work.other_grounds else "")
        + "\n"
        + _listed("Afterwards", work.follow_up)
    )


def _check(check: Check, whole: Catalogue) -> str:
    wait = f", then {number(check.wait_minutes)} min of waiting" if check.wait_minutes else ""
    states = {state.id: state.name for state in whole.states}
    needs = ", ".join(states.get(one, one) for one in check.needs)
    gone = f"\n\nThis evidence is gone when this ends: {states.get(check.perishes.state)}." if check.perishes else ""
    parts = [
        f"# {check.name}\n\n{_sentence(LOOKS[check.form])} {number(check.minutes)} min{wait}. Id `{check.id}`.{gone}\n",
        _listed("Cautions, before the check", _cautions(check.cautions, whole)),
        f"\n**Needs** {needs}.\n" if needs else "",
        f"\n**Tools** {', '.join(check.tools).replace('_', ' ')}.\n" if check.tools else "",
        f"\n**Reads as found when** {_sentence(check.positive)}\n",
        _listed("Orientation, not a limit", (f"{one.what}: {one.limit} {one.unit}" for one in check.limits)),
        "\n## What each reading tells\n\n",
        table(("reading", "tells of", "reads so with it", "on a sound vehicle"), _told(check.readings, whole)),
        f"\n{_sentence(check.note)}\n" if check.note else "",
        DEFERS,
    ]
    return "".join(parts)


def _told(readings: Iterable[Reading], whole: Catalogue) -> Iterator[tuple[str, str, str, str]]:
    for reading in readings:
        finds = [(_link(name, whole), _percent(ends)) for name, ends in reading.finds if name in whole.cause]
        for cause, detection in finds or [("nothing by itself", "")]:
            yield reading.text, cause, detection, _percent(reading.false_alarm)
