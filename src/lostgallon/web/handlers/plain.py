"""Pages that only explain: how the pictures are read, and the guided first visit of the demo."""

from starlette.responses import Response

from lostgallon.web.call import Call

STEPS = ("list", "visit", "ask", "check", "state", "account", "correction", "hand_back", "proof")


def show_reading(call: Call) -> Response:
    """How the pictures and words are read."""
    return call.page("reading.html")


def show_guide(call: Call) -> Response:
    """The guided first visit: what to try, in order."""
    visits = call.desk.store.visits(limit=1)
    return call.page("guide.html", steps=STEPS, first=visits[0].id if visits else "")
