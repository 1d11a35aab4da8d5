"""Photos and logs: recognized by their content, never by their name; photos made anew without place or camera data."""

from starlette.responses import FileResponse, Response

from lostgallon.shop.trouble import BadInput
from lostgallon.web.call import Call, go
from lostgallon.web.desk import NotThere
from lostgallon.web.evidence import keep_table, marked_coasts, suffix_of
from lostgallon.web.pictures import clean_photo
from lostgallon.web.reading import Kind

_MEDIA = {".jpg": "image/jpeg", ".pdf": "application/pdf", ".csv": "text/csv"}
_EVIDENCE: tuple[Kind, ...] = ("fill_ups", "drive_log")


def keep_photos(call: Call) -> Response:
    """Keep the photos of a check."""
    visit_id = call.desk.summary(call.path["visit"]).id
    check = call.path["check"]
    if check not in call.desk.cards.checks:
        raise NotThere(check)
    if not call.files:
        raise BadInput("", found="no photo", expected="a photo from the camera or a file")
    for number, upload in enumerate(call.files):
        sha256 = call.desk.store.keep_file(clean_photo(upload.content), suffix=".jpg")
        call.desk.add(visit_id, "photo", {"check": check, "sha256": sha256}, who=call.who, mark=f"{call.key}-{number}")
    return go(f"/visit/{visit_id}/check/{check}")


def keep_evidence(call: Call) -> Response:
    """Keep a fill-up log or a recorded drive as the visit's evidence."""
    visit_id = call.desk.summary(call.path["visit"]).id
    name = call.form.text("evidence")
    if name not in _EVIDENCE:
        raise BadInput("", found="a file without a word on what it is", expected="a fill-up log or a recorded drive")
    measured = bool(call.files) and suffix_of(call.files[0]) == ".mf4"
    kind: Kind = "drive_log" if measured or name == "drive_log" else "fill_ups"
    entry = call.desk.record(visit_id, f"evidence.{kind}", keep_table(call, kind), who=call.who, mark=call.key)
    return go(f"/visit/{visit_id}", saved=entry.id)


def keep_coasts(call: Call) -> Response:
    """Keep which stretches of the visit's recorded drive are coasting, in place of those the program finds."""
    visit_id = call.desk.summary(call.path["visit"]).id
    entry = call.desk.record(visit_id, "evidence.coasts", marked_coasts(call), who=call.who, mark=call.key)
    return go(f"/visit/{visit_id}", saved=entry.id)


def show_file(call: Call) -> Response:
    """A kept photo of this visit; nothing else of the shop can be asked for here."""
    sheet = call.desk.sheet(call.path["visit"])
    sha256 = call.path["sha256"]
    if not any(found.value.get("sha256") == sha256 for _, found in sheet.group("photo")):
        raise NotThere(sha256)
    kept = call.desk.store.file(sha256)
    if kept is None or kept.erased:
        raise NotThere(sha256)
    media = _MEDIA.get(kept.suffix, "application/octet-stream")
    return FileResponse(call.desk.store.file_path(sha256), media_type=media)
