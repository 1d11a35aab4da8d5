"""What the operating system and the database complain of, as one sentence that says what to do."""

import errno
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, IntegrityError

from lostgallon.shop.trouble import CantKeep, Damaged, Trouble

_AGAIN = "nothing was kept; enter it again when there is"
_ELSEWHERE = "nothing was kept; choose another folder with --data"
_MAY_WRITE = f"found a folder or file that you may not write; expected one that you may; {_ELSEWHERE}"
_NO_FOLDER = f"found a file where a folder is needed; expected a folder; {_ELSEWHERE}"
_FULL = f"found a full disk; expected room to write; {_AGAIN}"
_SICK = "found a disk that does not answer as it should; expected a sound one; copy the data to another disk soon"

_LEAST_FREE = 2**17
"""Bytes; SQLite's shared file grows by 32 kB."""

_BY_ERRNO = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: f"found a disk quota that is used up; expected room to write; {_AGAIN}",
    errno.EFBIG: f"found a file as large as the system allows; expected room to write; {_AGAIN}",
    errno.EROFS: f"found a read-only disk; expected one that can be written; {_ELSEWHERE}",
    errno.EACCES: _MAY_WRITE,
    errno.EPERM: _MAY_WRITE,
    errno.ENOTDIR: _NO_FOLDER,
    errno.EEXIST: _NO_FOLDER,
    errno.EIO: _SICK,
}

_BY_WORDS = (
    ("database or disk is full", _FULL),
    ("no space left", f"found a full disk on the server; expected room to write; {_AGAIN}"),
    ("readonly database", _MAY_WRITE),
    ("unable to open database", "found a database that can't be opened; expected a folder that you may write in"),
    ("disk i/o error", _SICK),
    ("locked", "found a database that another program holds; expected it free; close that program and try again"),
    ("read-only transaction", "found a server that takes no writes; expected one that does; nothing was kept"),
    ("password authentication", "found a password that the server refuses; expected the right one"),
    ("does not exist", "found no such database or user on the server; expected one that is there"),
    ("connect", "found no server that answers; expected one that runs and can be reached"),
)

_DAMAGED = ("malformed", "not a database")


@contextmanager
def said_plainly(where: Path | str) -> Iterator[None]:
    """Turn what goes wrong with the disk or the database into one trouble that names the place.

    Raises:
        CantKeep: If something could not be written or read; what was acknowledged before stays kept.
        Damaged: If the database file is no longer one.
    """
    try:
        yield
    except OSError as error:
        said = (error.strerror or "a refusal of the system").lower()
        reason = _BY_ERRNO.get(error.errno or 0, f"found {said}; expected a folder that can be used")
        raise CantKeep(f"{where}: {reason}") from error
    except IntegrityError:
        raise
    except DBAPIError as error:
        raise _trouble(where, str(error.orig).lower()) from error
    except sqlite3.Error as error:
        raise _trouble(where, str(error).lower()) from error


def _is_full(where: Path | str) -> bool:
    try:
        return shutil.disk_usage(Path(where).parent).free < _LEAST_FREE
    except OSError:
        return False


def _trouble(where: Path | str, said: str) -> Trouble:
    if any(word in said for word in _DAMAGED):
        return Damaged(
            f"{where}: found a damaged database; expected one that can be read; restore the last backup into a new "
            "folder"
        )
    if "disk i/o error" in said and _is_full(where):
        # SQLite's small file beside the database can't grow: it calls that a failed disk.
        return CantKeep(f"{where}: {_FULL}")
    other = f"found {said.splitlines()[0]}; expected a database that can be used"
    return CantKeep(f"{where}: {next((sentence for words, sentence in _BY_WORDS if words in said), other)}")
