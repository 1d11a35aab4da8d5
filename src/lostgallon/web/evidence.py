"""Files of evidence as they are kept: recognized by their content, never by their name."""

import re
from typing import Any, get_args

from lostgallon.shop.marks import EXPECTED, read_mark, written
from lostgallon.shop.trouble import BadInput, one_of
from lostgallon.shop.visit import SpeedUnit
from lostgallon.web.call import Call, Upload
from lostgallon.web.reading import Kind, Said, require_readable

_ZIP, _MDF = b"PK\x03\x04", b"MDF "
_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"
_LOOKED_AT = 65536


def keep_table(call: Call, kind: Kind) -> dict[str, Any]:
    """Keep the first file of a post, once a process of its own could read it; hand back what its entry says.

    Raises:
        BadInput: If there is none, it is neither a table nor a measurement, or it can't be read within the limits.
    """
    if not call.files:
        raise BadInput("", found="no file", expected="a fill-up log or a recorded drive")
    upload = call.files[0]
    suffix, name = suffix_of(upload), upload.name[-80:]
    speed = call.form.text("speed") if kind == "drive_log" else ""
    if speed and speed not in get_args(SpeedUnit):
        raise BadInput("", found=repr(speed[:20]), expected=one_of(get_args(SpeedUnit)))
    require_readable(upload.content, kind=kind, suffix=suffix, name=name, said=Said(speed=speed))
    kept = {"sha256": call.desk.store.keep_file(upload.content, suffix=suffix), "name": name}
    return {**kept, "speed": speed} if speed else kept


def marked_coasts(call: Call) -> dict[str, Any]:
    """Coasting marked by hand in the visit's recorded drive, tried on it; what its entry says.

    Raises:
        BadInput: If there is no recorded drive, nothing is marked, or a stretch can't be read in it.
    """
    log = call.desk.sheet(call.path["visit"]).standing.get("evidence.drive_log")
    if log is None or not isinstance(log.value, dict):
        raise BadInput("", found="no recorded drive", expected="one, before coasting is marked in it")
    typed = [part for part in re.split(r"[,;\s]+", call.form.text("coasts")) if part]
    if not typed:
        raise BadInput("", found="nothing marked", expected=EXPECTED)
    coasts = [written(read_mark(part)) for part in typed]
    sha256, name = str(log.value["sha256"]), str(log.value.get("name", ""))
    kept = call.desk.store.file(sha256)
    if kept is None or kept.erased:
        raise BadInput("", found="a recorded drive that was erased", expected="one that is kept")
    content = call.desk.store.file_path(sha256).read_bytes()
    said = Said(speed=str(log.value.get("speed", "")), coasts=tuple(coasts))
    require_readable(content, kind="drive_log", suffix=kept.suffix, name=name, said=said)
    return {"of": sha256, "name": ", ".join(coasts), "coasts": coasts}


def suffix_of(upload: Upload) -> str:
    """The suffix that a file's content earns: a text table, a spreadsheet, or an MDF4 measurement.

    Raises:
        BadInput: If it is none of them.
    """
    content = upload.content
    if content.startswith(_MDF):
        return ".mf4"
    if content.startswith(_ZIP):
        return ".ods" if _OPEN_DOCUMENT in content[:200] else ".xlsx"
    if not content or b"\x00" in content[:_LOOKED_AT]:
        found = "a binary file" if content else "an empty file"
        raise BadInput(upload.name[-80:], found=found, expected="a table (CSV, XLSX, ODS) or a measurement (ASAM MDF4)")
    return ".csv"
