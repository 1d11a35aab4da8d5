"""Hand-back: the release list, the letter, the seal, and the call afterwards."""

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.responses import Response

from lostgallon.shop.trouble import BadInput
from lostgallon.shop.wire import as_json
from lostgallon.web.call import Call, go
from lostgallon.web.letters import PaperName, paper_of
from lostgallon.web.pages.hand_back import RELEASE_ITEMS, hand_back_of

if TYPE_CHECKING:
    from icalendar import Event

CALL_AFTER_DAYS = 42
"""Three tanks at a tank in two weeks: common practice, no source."""


def show_hand_back(call: Call) -> Response:
    """The release list, one line for what was touched."""
    sheet = call.sheet()
    page = hand_back_of(sheet, call.cards, call.say)
    return call.page("hand_back.html", page=page, sheet=sheet, wrong="")


def tick(call: Call) -> Response:
    """Keep one line of the release list."""
    visit_id = call.desk.summary(call.path["visit"]).id
    item = call.path["item"]
    if item not in dict(RELEASE_ITEMS):
        raise BadInput("", found=item, expected="a line of the release list")
    answer = call.form.choice("answer", ("done", "not needed"))
    if call.form.wrong:
        raise BadInput("", found=answer or "no answer", expected="done or not needed")
    call.desk.record(visit_id, f"release.{item}", answer, who=call.who, mark=call.key)
    return go(f"/visit/{visit_id}/hand-back#item-{item}")


def seal(call: Call) -> Response:
    """Hand the vehicle back and seal the record; refused while the list or a stop is open."""
    sheet = call.sheet()
    page = hand_back_of(sheet, call.cards, call.say)
    if sheet.account is None or not sheet.fresh:
        wrong = call.say("hand_back.not_fresh")
    elif sheet.account.stop:
        wrong = call.say("hand_back.stopped", what=sheet.account.stop.what)
    elif page.open_items:
        wrong = call.say("hand_back.open_items", count=page.open_items)
    else:
        # Sealed is the record as it is kept, in English; the letter is in the owner's language.
        kept = call.desk.sheet(sheet.id)
        call.desk.store.seal(
            sheet.id, as_json(kept.account), paper_of(kept, "letter", call.desk.store.file_path), who=call.who
        )
        return go(f"/visit/{sheet.id}#handback")
    return call.page("hand_back.html", status=422, page=page, sheet=sheet, wrong=wrong)


def letter(call: Call) -> Response:
    """The owner's letter as PDF; after the seal, the sealed one."""
    seals = call.desk.store.seals(call.desk.summary(call.path["visit"]).id)
    if seals:
        return _pdf(call.desk.store.file_path(seals[-1].letter_sha256).read_bytes(), "letter")
    return _paper(call, "letter")


def estimate(call: Call) -> Response:
    """The written estimate as PDF, for the owner to agree to."""
    return _paper(call, "estimate")


def fill_card(call: Call) -> Response:
    """The card for the owner's next fills as PDF."""
    return _paper(call, "fill-card")


def _paper(call: Call, name: PaperName) -> Response:
    sheet = call.desk.sheet(call.path["visit"])
    if sheet.account is None:
        return call.painter.refusal("trouble.no_account", call.person, status=409)
    return _pdf(paper_of(sheet, name, call.desk.store.file_path), name)


def _pdf(content: bytes, name: PaperName) -> Response:
    headers = {"content-disposition": f'inline; filename="lost-gallon-{name}.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


def follow_up(call: Call) -> Response:
    """The call after three fills, and what today's work asks for before it, as a calendar file (RFC 5545)."""
    from icalendar import Calendar  # noqa: PLC0415 - only a calendar file needs it

    sheet = call.sheet()
    account = sheet.account
    calendar = Calendar()
    calendar.add("prodid", "-//Lost Gallon//follow-up//EN")
    calendar.add("version", "2.0")
    for number, care in enumerate(account.after_care if account else (), start=1):
        if care.within_days is not None and care.within_days < CALL_AFTER_DAYS:
            name = call.say("follow_up.recheck", what=care.what, vehicle=sheet.vehicle)
            day = Day(f"{sheet.id}-{number}", care.within_days, name, care.why)
            calendar.add_component(_event(day, call))
    summary = call.say("follow_up.summary", vehicle=sheet.vehicle)
    rule = account.proof.rule if account else ""
    calendar.add_component(_event(Day(sheet.id, CALL_AFTER_DAYS, summary, rule), call))
    headers = {"content-disposition": 'attachment; filename="follow-up.ics"'}
    return Response(calendar.to_ical(), media_type="text/calendar", headers=headers)


@dataclass(frozen=True)
class Day:
    """One entry of the calendar: so many days from today, at nine in the morning."""

    id: str
    days: int
    summary: str
    description: str


def _event(day: Day, call: Call) -> "Event":
    from icalendar import Event  # noqa: PLC0415 - only a calendar file needs it

    event = Event()
    event.add("uid", f"{day.id}@lostgallon.invalid")
    event.add("dtstamp", call.now.astimezone(dt.UTC))
    event.add("dtstart", dt.datetime.combine(call.now.date() + dt.timedelta(days=day.days), dt.time(9)))
    event.add("duration", dt.timedelta(minutes=10))
    event.add("summary", day.summary)
    event.add("description", day.description)
    return event
