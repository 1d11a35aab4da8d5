"""A check opened for entry, and its finding kept."""

from starlette.responses import Response

from lostgallon.shop.cards import CheckCard
from lostgallon.shop.trouble import BadCase
from lostgallon.web.call import Call, go
from lostgallon.web.desk import NotThere
from lostgallon.web.finding_form import entered_for, read_finding_form
from lostgallon.web.gauges import gauges_of
from lostgallon.web.pages.entry import EntryPage, entry_page, with_gauges
from lostgallon.web.pages.gauges import gauges_for
from lostgallon.web.pages.interview import QUESTIONS, next_question
from lostgallon.web.sheet import Sheet


def show_check(call: Call) -> Response:
    """One check: its caution, how it is done, and its fields."""
    sheet = call.sheet()
    card = call.cards.checks.get(call.path["check"])
    if card is None:
        raise NotThere(call.path["check"])
    return call.page("check.html", page=_entry(call, sheet, card))


def keep_check(call: Call) -> Response:
    """Keep a finding; on to the next question, or back to the page with its undo."""
    sheet = call.sheet()
    card = call.cards.checks.get(call.path["check"])
    if card is None:
        raise NotThere(call.path["check"])
    entered = entered_for(card, int(sheet.value("vehicle.cylinders", 4)))
    value = read_finding_form(card, entered, call.form)
    if call.form.wrong:
        if call.form.wrong.get("result") == "nothing":
            call.form.wrong["result"] = call.say("check.nothing")
        return _again(call, sheet, card)
    try:
        entry = call.desk.finding(sheet.id, value, who=call.who, mark=call.key)
    except BadCase as trouble:
        # A gauge that was taken off the list, or one that reads something else.
        call.form.refuse("gauge", found=trouble.found, expected=trouble.expected)
        return _again(call, sheet, card)
    asked = next_question(call.desk.sheet(sheet.id), call.cards) if card.id in QUESTIONS else None
    if asked:
        return go(f"/visit/{sheet.id}/check/{asked.card.id}", saved=entry.id)
    return go(f"/visit/{sheet.id}#findings", saved=entry.id)


def _entry(call: Call, sheet: Sheet, card: CheckCard) -> EntryPage:
    page = entry_page(sheet, card, call.cards, call.say, typed=call.form.typed(), wrong=call.form.wrong)
    if card.measure is None:
        return page
    known = gauges_for(card.measure.kind, gauges_of(call.desk.store, sheet.id).values(), call.say)
    return with_gauges(page, known, sheet, call.say) if known else page


def _again(call: Call, sheet: Sheet, card: CheckCard) -> Response:
    return call.page("check.html", status=422, page=_entry(call, sheet, card))


def show_all_checks(call: Call) -> Response:
    """Every check there is, by form, for one that is not on the list."""
    sheet = call.sheet()
    find = call.query.get("find", "").strip().lower()
    listed = [
        card for card in call.cards.checks.values() if find in f"{card.name} {card.in_full} {card.positive}".lower()
    ]
    return call.page("all_checks.html", visit_id=sheet.id, checks=listed, done=sheet.findings, find=find)
