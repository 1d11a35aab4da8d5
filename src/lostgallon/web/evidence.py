"""Files of evidence as they are kept: recognized by their content, never by their name."""

from typing import Any

from lostgallon.shop.trouble import BadInput
from lostgallon.web.call import Call, Upload

_ZIP, _MDF = b"PK\x03\x04", b"MDF "
_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"
_LOOKED_AT = 65536


def keep_table(call: Call) -> dict[str, Any]:
    """Keep the first file of a post, and hand back what its entry says.

    Raises:
        BadInput: If there is none, or it is neither a table nor a measurement.
    """
    if not call.files:
        raise BadInput("", found="no file", expected="a fill-up log or a recorded drive")
    upload = call.files[0]
    sha256 = call.desk.store.keep_file(upload.content, suffix=suffix_of(upload))
    return {"sha256": sha256, "name": upload.name[-80:]}


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
