"""Findings: every recorded result, on a rule where it was measured."""

from dataclasses import dataclass, replace
from typing import Any

from lostgallon.paper.drive_svg import DrivePicture, drive_pictures, speed_svg
from lostgallon.paper.figures import typed
from lostgallon.paper.rule import ReadingRule, rule_of
from lostgallon.paper.rule_svg import rule_svg
from lostgallon.paper.svg import Frame as Drawn
from lostgallon.shop.account import FindingRow
from lostgallon.shop.cards import Cards, CheckCard
from lostgallon.shop.marks import COASTING_CAUTION
from lostgallon.web.say import Say
from lostgallon.web.sheet import Recorded, Sheet

WHEELS = ("left front", "right front", "left rear", "right rear")
"""Places that a narrow rule shows by two letters; the words beside it say them in full."""


@dataclass(frozen=True)
class Shown:
    """One finding as it is shown.

    `stamp` is the word in inverse ink (outside, found), `plain` the word in plain ink (inside, in order).
    """

    check: str
    name: str
    entry: str
    picture: str
    seen: bool
    values: str
    limit: str
    stamp: str
    plain: str
    readings: tuple[str, ...]
    before: bool
    after: str
    who: str
    photos: tuple[str, ...]


@dataclass(frozen=True)
class Coasting:
    """Where to mark coasting in the recorded drive: its speed over the minutes, what is marked now, the caution."""

    speed: str
    marked: str
    caution: str


@dataclass(frozen=True)
class Findings:
    """The section: what was asked, what was looked at and measured, what a recorded drive shows, and what was not.

    `coasting` is there while coasting can be marked in the recorded drive.
    """

    head: str
    lede: str
    rows: tuple[Shown, ...]
    asked: tuple[Shown, ...]
    silent: tuple[Shown, ...]
    drive: tuple[DrivePicture, ...]
    coasting: Coasting | None


def findings_of(sheet: Sheet, cards: Cards, say: Say) -> Findings:
    """The section. An entry shows at once, before any account includes it."""
    shown = [
        (look, _show_look(look, n, cards, say, sheet=sheet))
        for found in sheet.looks.values()
        for n, look in enumerate(found)
    ]
    silent = {"not looked at", "skipped", "not possible"}
    rows: list[Shown] = []
    asked: list[Shown] = []
    without: list[Shown] = []
    for look, row in shown:
        check, result = row.check, look.value.get("result")
        form = cards.checks[check].form if check in cards.checks else "look"
        (without if result in silent else asked if form == "question" else rows).append(row)
    rows += _from_drive(sheet, cards, say)
    drive = sheet.account.drive if sheet.account else None
    return Findings(
        head=say("findings.head", count=len(rows) + len(asked)),
        lede=_lede(rows, asked, say),
        rows=tuple(rows),
        asked=tuple(asked),
        silent=tuple(without),
        drive=drive_pictures(drive, say.words, frame=Drawn()) if drive else (),
        coasting=_coasting(sheet, say),
    )


def _coasting(sheet: Sheet, say: Say) -> Coasting | None:
    log, drive = sheet.standing.get("evidence.drive_log"), sheet.account.drive if sheet.account else None
    if log is None or drive is None or sheet.sealed or len(drive.speed_over_time) < 2:
        return None
    marked = sheet.standing.get("evidence.coasts")
    stands = marked is not None and isinstance(marked.value, dict) and marked.value.get("of") == drive.log_sha256
    return Coasting(
        speed=speed_svg(drive.speed_over_time, say.words, frame=Drawn()),
        marked=str(marked.value["name"]) if marked is not None and stands else "",
        caution=say.words.caution(COASTING_CAUTION),
    )


def _show_look(look: Recorded, number: int, cards: Cards, say: Say, *, sheet: Sheet) -> Shown:
    check = str(look.value.get("check", ""))
    judged = [row for row in sheet.account.findings if row.check == check] if sheet.account else []
    return show_finding(
        look, cards.checks.get(check), say, sheet=sheet, judged=judged[number] if number < len(judged) else None
    )


def _from_drive(sheet: Sheet, cards: Cards, say: Say) -> list[Shown]:
    """What the recorded drive measured, as the account took it in; a finding that was entered stands in its place."""
    log = sheet.standing.get("evidence.drive_log")
    if sheet.account is None or log is None:
        return []
    rows = []
    for row in sheet.account.findings:
        if row.check not in sheet.findings and not row.result:
            value = {"check": row.check, "value": row.value, "place": row.place, "codes": row.readings}
            found = replace(log, value=value)
            shown = show_finding(found, cards.checks.get(row.check), say, sheet=sheet, judged=row)
            # Only what speaks for a fault is taken from a log as a finding (job/drive.py).
            stamp = shown.stamp or say("findings.found")
            rows.append(replace(shown, stamp=stamp, who=say("findings.by_drive", when=say.when(log.at, sheet.now))))
    return rows


def _lede(rows: list[Shown], asked: list[Shown], say: Say) -> str:
    found = tuple(row.name for row in rows if row.stamp)
    if found:
        return say("findings.lede_found", names=say.words.listed(found))
    if rows:
        return say("findings.lede_in_order")
    return say("findings.lede_asked", count=len(asked)) if asked else ""


def show_finding(
    found: Recorded, card: CheckCard | None, say: Say, *, sheet: Sheet, judged: FindingRow | None
) -> Shown:
    """One recorded finding as it is shown."""
    value = found.value
    row = finding_row(value, card)
    drawn = judged or row
    drawn = replace(drawn, place=row.place)
    rule = _with_short_places(rule_of(drawn), say)
    if rule and judged is None:
        # Which side of the limit is outside is the account's to say; until then none is hatched.
        rule = replace(rule, outside=None)
    stamp, plain = _words(value, row, judged, card, say)
    texts = {choice.id: choice.text for choice in card.readings} if card else {}
    return Shown(
        check=str(value.get("check", "")),
        name=card.name if card else str(value.get("check", "")),
        entry=found.id,
        picture=rule_svg(rule, drawn, say.words, frame=Drawn(), small=True) if rule else "",
        seen=rule is None and not value.get("value"),
        values=", ".join(_with_places(value, say)),
        limit=_limit(value, judged, say),
        stamp=stamp,
        plain=plain,
        readings=tuple(texts.get(reading, reading.replace("_", " ")) for reading in listed(value, "reading"))
        + listed(value, "codes")
        + _answer(value, card),
        before=bool(value.get("before_good_days")),
        after=_after(judged, say),
        who=say("findings.by", who=found.who, when=say.when(found.at, sheet.now)),
        photos=tuple(
            str(photo.value["sha256"])
            for _, photo in sheet.group("photo")
            if photo.value.get("check") == value.get("check")
        ),
    )


def _answer(value: dict[str, Any], card: CheckCard | None) -> tuple[str, ...]:
    """What a question that was answered with a plain yes asked for."""
    plain_yes = value.get("result") == "found" and not value.get("reading") and not value.get("codes")
    return (card.positive,) if plain_yes and card and card.form == "question" else ()


def _with_short_places(rule: ReadingRule | None, say: Say) -> ReadingRule | None:
    if rule is None:
        return None
    return replace(
        rule, readings=tuple(replace(reading, place=_short(reading.place, say)) for reading in rule.readings)
    )


def _short(place: str, say: Say) -> str:
    return say(f"short_place.{place.replace(' ', '_')}") if place in WHEELS else say.told(place)


def _after(judged: FindingRow | None, say: Say) -> str:
    if judged is None or not judged.after:
        return ""
    return say.words("finding.after", work=", ".join(say.words.told(work) for work in judged.after))


def listed(value: dict[str, Any], name: str) -> tuple[str, ...]:
    """The texts under a key of a finding; a single one may stand without a list."""
    found = value.get(name, ())
    return (found,) if isinstance(found, str) else tuple(found)


def finding_row(value: dict[str, Any], card: CheckCard | None) -> FindingRow:
    """A finding as entered, in the shape the account hands back; whether it is outside is judged where it is plain."""
    values, places = listed(value, "value"), listed(value, "place")
    limit = value.get("limit")
    return FindingRow(
        check=str(value.get("check", "")),
        name=card.name if card else "",
        result=value.get("result"),
        readings=listed(value, "reading"),
        value=values,
        place=places,
        limit=limit,
        limit_source=value.get("limit_source"),
        outside_by=None,
        before_good_days=bool(value.get("before_good_days")),
    )


def _words(
    value: dict[str, Any], row: FindingRow, judged: FindingRow | None, card: CheckCard | None, say: Say
) -> tuple[str, str]:
    if judged and judged.outside_by:
        return say("findings.outside", by=typed(judged.outside_by)), ""
    result = value.get("result")
    if result == "normal":
        return "", say("findings.none_of_these" if card and card.form == "question" else "findings.in_order")
    if result == "found" or value.get("codes"):
        return say("findings.found"), ""
    if result:
        return "", say(f"result.{result.replace(' ', '_')}")
    if row.value and row.limit:
        return "", say("findings.inside") if judged else ""
    return "", "" if row.value or value.get("reading") or value.get("codes") else say("findings.noted")


def _with_places(value: dict[str, Any], say: Say) -> list[str]:
    places = [say.told(place) for place in listed(value, "place")]
    values = [typed(text) for text in listed(value, "value")]
    if not values:
        return places
    return [
        f"{place} {text}" if place else text
        for text, place in zip(values, [*places, *[""] * len(values)], strict=False)
    ]


def _limit(value: dict[str, Any], judged: FindingRow | None, say: Say) -> str:
    """The limit as entered, or the one the account judged by."""
    limit, source = value.get("limit"), value.get("limit_source")
    if not limit and judged and judged.limit:
        limit, source = judged.limit, judged.limit_source
    if not limit:
        return say("findings.no_limit") if value.get("value") else ""
    if source:
        return say("findings.limit_source", limit=typed(limit), source=say.told(source))
    return say("findings.limit", limit=typed(limit))
