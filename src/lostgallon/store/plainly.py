"""What the operating system and the database complain of, as one sentence that says what to do."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DatabaseError, IntegrityError, InterfaceError, OperationalError

from lostgallon.shop.trouble import CantKeep, Damaged

_BY_ERRNO = {
    errno.ENOSPC: "the disk is full; free some space and enter it again",
    errno.EDQUOT: "the disk quota is used up; free some space and enter it again",
    errno.EFBIG: "the file grew beyond what the system allows; ask whoever looks after this computer",
    errno.EROFS: "the disk is read-only; choose another folder with --data",
    errno.EACCES: "this folder may not be written by you; choose another with --data",
    errno.EPERM: "this folder may not be written by you; choose another with --data",
    errno.ENOTDIR: "a file stands where a folder is needed; choose another folder with --data",
    errno.EEXIST: "a file stands where a folder is needed; choose another folder with --data",
    errno.EIO: "the disk does not answer as it should; copy the data to another disk soon",
}

_BY_WORDS = (
    ("database or disk is full", "the disk is full; free some space and enter it again"),
    ("no space left", "the server's disk is full; free some space and enter it again"),
    ("readonly database", "the database may not be written; choose another folder with --data"),
    ("read-only transaction", "the server takes no writes now; ask whoever looks after it"),
    ("unable to open database", "the database can't be opened; check the folder and who may write in it"),
    ("disk i/o error", "the disk does not answer as it should; free some space or copy the data to another disk"),
    ("locked", "another program holds the database; close it and enter it again"),
    ("password authentication", "the server refuses the password"),
    ("does not exist", "the server knows no such database or user"),
    ("connection", "the server does not answer; check that it runs and can be reached"),
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
        reason = _BY_ERRNO.get(error.errno or 0, (error.strerror or "the system refuses").lower())
        raise CantKeep(f"{where}: nothing was kept: {reason}") from error
    except IntegrityError:
        raise
    except (OperationalError, InterfaceError, DatabaseError) as error:
        said = str(error.orig).lower()
        if any(word in said for word in _DAMAGED):
            raise Damaged(
                f"{where}: found a damaged database; expected one that can be read; restore the last backup into a "
                "new folder"
            ) from error
        reason = next((sentence for words, sentence in _BY_WORDS if words in said), said.splitlines()[0])
        raise CantKeep(f"{where}: nothing was kept: {reason}") from error
