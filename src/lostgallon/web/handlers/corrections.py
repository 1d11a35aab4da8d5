"""A correction: the owner's answer, the figures of the service information, done, or left with a reason."""

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.desk import NotThere
from lostgallon.web.pages.corrections import CorrectionRow, row_of
from lostgallon.web.sheet import Sheet


def _found(call: Call) -> tuple[Sheet, CorrectionRow]:
    sheet = call.sheet()
    operation = call.path["operation"]
    listed = sheet.account.corrections if sheet.account else ()
    correction = next((row for row in listed if row.operation == operation), None)
    if correction is None:
        raise NotThere(operation)
    return sheet, row_of(correction, sheet, call.cards, call.say)


def _asked_again(call: Call, sheet: Sheet, row: CorrectionRow) -> Response:
    """The page once more, with what was typed and what is wrong with it."""
    wrong, typed = call.form.wrong, call.form.typed()
    return call.page(
        "correction.html", status=422, visit_id=sheet.id, row=row, wrong=wrong, typed=typed, sealed=sheet.sealed
    )


def show_correction(call: Call) -> Response:
    """One correction, its caution before its steps."""
    sheet, row = _found(call)
    return call.page("correction.html", visit_id=sheet.id, row=row, wrong={}, typed={}, sealed=sheet.sealed)


def consent(call: Call) -> Response:
    """Keep the owner's answer: who, when, how, how much, what."""
    sheet, row = _found(call)
    form = call.form
    answer = form.choice("answer", ("yes", "no"))
    name = form.text("name", needed=call.say("consent.needs_name"))
    how = form.choice("how", ("by telephone", "in person", "in writing"), default="by telephone")
    # What this page named to the owner; it may have been sent long after, and the price may have moved since.
    told = form.money("amount", call.desk.currency) or row.amount
    if form.wrong:
        return _asked_again(call, sheet, row)
    value = {"answer": answer, "name": name, "how": how, "amount": told, "what": row.name}
    entry = call.desk.record(sheet.id, f"consent.{call.path['operation']}", value, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/correction/{call.path['operation']}", saved=entry.id)


def leave(call: Call) -> Response:
    """Leave a correction, with the reason."""
    sheet, row = _found(call)
    reason = call.form.text("reason", needed=call.say("leave.needs_reason"))
    if call.form.wrong:
        return _asked_again(call, sheet, row)
    entry = call.desk.record(
        sheet.id, f"left.{call.path['operation']}", {"reason": reason}, who=call.who, mark=call.key
    )
    return go(f"/visit/{sheet.id}#corrections", saved=entry.id)


def fill_in(call: Call) -> Response:
    """Keep a figure of the service information with its source."""
    sheet, row = _found(call)
    number = call.form.number("number", (1, 99))
    figure = call.form.text("figure", needed=call.say("fill_in.needs_figure"))
    source = call.form.text("source", needed=call.say("fill_in.needs_source"))
    if call.form.wrong or number is None:
        return _asked_again(call, sheet, row)
    key = f"fill_in.{call.path['operation']}.{number:.0f}"
    entry = call.desk.record(sheet.id, key, {"figure": figure, "source": source}, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/correction/{call.path['operation']}", saved=entry.id)


def done(call: Call) -> Response:
    """The work is done; refused while the owner has not agreed to it."""
    sheet, row = _found(call)
    free = not row.amount or row.amount.startswith("0.00")
    if not row.agreed and not free:
        call.form.wrong["done"] = call.say("consent.first")
        return _asked_again(call, sheet, row)
    entry = call.desk.record(sheet.id, f"done.{call.path['operation']}", True, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}#corrections", saved=entry.id)
