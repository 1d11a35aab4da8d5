"""Photos, logs and letters on disk, named by their content.

A file is written under a temporary name, synced, renamed to its hash and the folder synced; only then may a row of
the database name it. So a crash leaves a whole file without a row or a leftover in `incoming`, never a row without
its file; both are named by `inspect-data`.
"""

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from lostgallon.shop.trouble import BadInput

_SUFFIX = re.compile(r"\.[a-z0-9]{1,6}")
CHUNK_BYTES = 1 << 20


@dataclass(frozen=True)
class Shelf:
    """The folder of kept files."""

    folder: Path

    @property
    def incoming(self) -> Path:
        """Where files lie while they are being written."""
        return self.folder / "incoming"

    def path(self, sha256: str, suffix: str) -> Path:
        """Where a file of this content lies. No text of a person is ever part of it."""
        return self.folder / sha256[:2] / f"{sha256}{suffix}"

    def put(self, data: bytes | BinaryIO, suffix: str) -> tuple[str, int]:
        """Write a file and hand back its SHA-256 and size in bytes; the same content twice is one file.

        Raises:
            OSError: If the disk is full or the folder can't be written.
        """
        self.incoming.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=self.incoming)
        try:
            with os.fdopen(handle, "wb") as out:
                sha256, size = _copy(_chunks(data), out)
                out.flush()
                os.fsync(out.fileno())
            target = self.path(sha256, suffix)
            if not target.exists():
                target.parent.mkdir(exist_ok=True)
                Path(name).replace(target)
                sync_folder(target.parent)
                sync_folder(self.folder)
        finally:
            with contextlib.suppress(FileNotFoundError):
                Path(name).unlink()
        return sha256, size

    def remove(self, sha256: str, suffix: str) -> None:
        """Remove a file for good."""
        target = self.path(sha256, suffix)
        target.unlink(missing_ok=True)
        if target.parent.exists():
            sync_folder(target.parent)

    def names(self) -> Iterator[Path]:
        """Every file that lies here, leftovers too."""
        return (path for path in sorted(self.folder.rglob("*")) if path.is_file())


def check_suffix(suffix: str) -> str:
    """The suffix itself, if it is one like ".jpg".

    Raises:
        BadInput: If it is not.
    """
    if suffix and not _SUFFIX.fullmatch(suffix):
        raise BadInput("", found=f"the file suffix {suffix!r}", expected='one like ".jpg" or ".csv"')
    return suffix


def hash_file(path: Path) -> tuple[str, int]:
    """SHA-256 and size in bytes of a file."""
    with path.open("rb") as stream:
        digest, size = hashlib.sha256(), 0
        for chunk in _chunks(stream):
            digest.update(chunk)
            size += len(chunk)
    return digest.hexdigest(), size


def sync_folder(folder: Path) -> None:
    """Make the names in a folder last. Windows can't open a folder; there the file system orders its own names."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _chunks(data: bytes | BinaryIO) -> Iterator[bytes]:
    if isinstance(data, bytes):
        yield data
        return
    while chunk := data.read(CHUNK_BYTES):
        yield chunk


def _copy(chunks: Iterator[bytes], out: BinaryIO) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    for chunk in chunks:
        digest.update(chunk)
        size += out.write(chunk)
    return digest.hexdigest(), size
