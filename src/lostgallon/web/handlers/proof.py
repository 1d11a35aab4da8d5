"""Proof: the owner's later fills, one at a time or as a file."""

from starlette.responses import Response

from lostgallon.shop.proven import LATER_FILLS
from lostgallon.web.call import Call, go
from lostgallon.web.evidence import keep_table
from lostgallon.web.pages.proof import proof_of
from lostgallon.web.sheet import Sheet


def show_proof(call: Call) -> Response:
    """What the fills since the visit say, and a place for the next one."""
    return _page(call, call.sheet())


def keep_tank(call: Call) -> Response:
    """Keep one fill."""
    sheet = call.sheet()
    form = call.form
    day = form.day("date") or call.now.date()
    odometer = form.quantity("odometer", "distance", needed=True)
    volume = form.quantity("volume", "volume", needed=True)
    if form.wrong:
        return _page(call, sheet, status=422)
    value = {
        "date": day.isoformat(),
        "odometer": odometer,
        "volume": volume,
        "to_first_click": form.text("click") != "no",
    }
    entry = call.desk.add(sheet.id, "tank", value, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/proof", saved=entry.id)


def keep_file(call: Call) -> Response:
    """Keep a file of fills; it stands in place of the one before."""
    sheet = call.sheet()
    value = keep_table(call, "fill_ups")
    entry = call.desk.record(sheet.id, LATER_FILLS, value, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/proof", saved=entry.id)


def _page(call: Call, sheet: Sheet, *, status: int = 200) -> Response:
    return call.page(
        "proof.html",
        status=status,
        page=proof_of(sheet, call.say),
        visit_id=sheet.id,
        vehicle=sheet.vehicle,
        typed=call.form.typed(),
        wrong=call.form.wrong,
        today=call.now.date(),
    )
