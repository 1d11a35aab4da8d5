"""One visit: its page, what is open now, its history, and taking an entry back."""

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.desk import NotThere
from lostgallon.web.pages.history import history_page
from lostgallon.web.pages.states import SHOWN, changed_by, states_page
from lostgallon.web.pages.visit import visit_page

STAGES = ("asked", "looked")


def show_visit(call: Call) -> Response:
    """The page of a visit, in the order of the work."""
    sheet = call.sheet()
    page = visit_page(sheet, call.cards, call.say, saved=call.query.get("saved", ""))
    return call.page("visit.html", page=page)


def undo(call: Call) -> Response:
    """Take an entry back."""
    visit_id = call.desk.summary(call.path["visit"]).id
    entry = call.path["entry"]
    if not entry.startswith(f"{visit_id}."):
        raise NotThere(entry)
    call.desk.undo(entry, who=call.who)
    return go(
        call.form.text("back") if call.form.text("back").startswith(f"/visit/{visit_id}") else f"/visit/{visit_id}"
    )


def mark_stage(call: Call) -> Response:
    """Keep that enough was asked, or enough looked at; what is next goes on from there."""
    visit_id = call.desk.summary(call.path["visit"]).id
    stage = call.path["stage"]
    if stage not in STAGES:
        raise NotThere(stage)
    entry = call.desk.record(visit_id, f"stage.{stage}", True, who=call.who, mark=call.key)
    return go(f"/visit/{visit_id}", saved=entry.id)


def show_states(call: Call) -> Response:
    """What is open, hot or running now."""
    sheet = call.sheet()
    return call.page("states.html", page=states_page(sheet, call.cards, call.say))


def change_states(call: Call) -> Response:
    """Keep what was opened and closed, and say at once what that closed and what it made cheap."""
    sheet = call.sheet()
    chosen = frozenset(call.form.texts("open")) & frozenset(SHOWN)
    before = sheet.open_states & frozenset(SHOWN)
    opened, closed = chosen - before, before - chosen
    if not opened and not closed:
        return go(f"/visit/{sheet.id}#checks")
    value = {"at": call.now.isoformat(timespec="seconds"), "opened": sorted(opened), "closed": sorted(closed)}
    entry = call.desk.add(sheet.id, "state", value, who=call.who, mark=call.key)
    changed = changed_by(opened, closed, call.cards, sheet.account)
    return call.page("changed.html", changed=changed, visit_id=sheet.id, entry=entry.id)


def show_history(call: Call) -> Response:
    """Every entry of a visit: who, when, what, and what was taken back."""
    sheet = call.sheet(with_history=True)
    return call.page("history.html", page=history_page(sheet, call.cards, call.say))
