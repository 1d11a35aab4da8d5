"""An owner's personal data: seen, exported, erased."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from lostgallon.shop.trouble import BadInput
from lostgallon.store import Store, erase_owner, export_owner, export_vehicle
from lostgallon.web.call import Call
from lostgallon.web.desk import NotThere
from lostgallon.web.pages.owners import OwnerPage, owner_page


def show_owner(call: Call) -> Response:
    """What is kept of an owner."""
    return call.page("owner.html", page=_page(call), erased=None, wrong="")


def export_of_owner(call: Call) -> Response:
    """Everything kept of an owner as one archive: JSON and files."""
    return _archive(call, export_owner, call.path["owner"], name="owner")


def export_of_vehicle(call: Call) -> Response:
    """Everything kept of a vehicle as one archive."""
    return _archive(call, export_vehicle, call.path["vehicle"], name="vehicle")


def erase(call: Call) -> Response:
    """Erase an owner's personal data; what was learned from the vehicle stays, without a name."""
    page = _page(call)
    if call.form.text("sure") != "yes":
        return call.page("owner.html", status=422, page=page, erased=None, wrong=call.say("owner.needs_sure"))
    erased = erase_owner(call.desk.store, page.id)
    return call.page("owner.html", page=_page(call), erased=erased, wrong="")


def _page(call: Call) -> OwnerPage:
    try:
        return owner_page(call.desk.store, call.path["owner"], call.say)
    except BadInput:
        raise NotThere(call.path["owner"]) from None


def _archive(call: Call, write: Callable[[Store, str, Path], None], of: str, *, name: str) -> Response:
    # Written aside first: what can't be read is then a page and not half a file.
    folder = tempfile.TemporaryDirectory(prefix="lostgallon-export-")
    target = Path(folder.name) / f"lost-gallon-{name}.zip"
    try:
        write(call.desk.store, of, target)
    except BadInput:
        folder.cleanup()
        raise NotThere(of) from None
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(target, filename=target.name, background=BackgroundTask(folder.cleanup))
