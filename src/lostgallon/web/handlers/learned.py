"""What the shop has learned from its own visits, and whether accounts run on it."""

from contextlib import suppress

from starlette.responses import Response

from lostgallon.web.accounts import OWN_NUMBERS
from lostgallon.web.call import Call, go
from lostgallon.web.pages.learned import learned_page


def show_learned(call: Call) -> Response:
    """The expert's numbers and the shop's, side by side."""
    return call.page("learned.html", page=learned_page(call.desk, call.say))


def use(call: Call) -> Response:
    """Let the next accounts run on what was learned so far."""
    from lostgallon.job.learned import learned_in, write_numbers  # noqa: PLC0415 - the pages must not wait for NumPy

    place = call.desk.store.place
    write_numbers(learned_in(call.desk.store, place / "calibrations"), place / OWN_NUMBERS)
    return go("/learned")


def stop(call: Call) -> Response:
    """Let the next accounts run on expert judgement again."""
    with suppress(FileNotFoundError):
        (call.desk.store.place / OWN_NUMBERS).unlink()
    return go("/learned")
