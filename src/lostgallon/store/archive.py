"""A backup as one archive: the database as a SQLite file, the kept files, and a manifest with the hash of each.

An archive of a server's data is the same, so that a shop can move from one database to the other by it.
"""

import contextlib
import datetime as dt
import hashlib
import json
import os
import re
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from lostgallon.shop.trouble import BadFile
from lostgallon.store import files

FORMAT = "lostgallon backup 1"
MANIFEST = "manifest.json"
DATABASE = "lostgallon.sqlite"
_NAME = re.compile(r"files/[0-9a-f]{2}/[0-9a-f]{64}(\.[a-z0-9]{1,6})?|lostgallon\.sqlite")
_HASH = re.compile(r"[0-9a-f]{64}")
_BAD_ZIP = (zipfile.BadZipFile, NotImplementedError, RuntimeError)
LARGEST_MANIFEST_BYTES = 200_000_000


@dataclass(frozen=True)
class Part:
    """One file of an archive."""

    name: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True)
class Manifest:
    """What an archive holds. `not_readable` names kept files that were lost before it was made."""

    made_at: str
    revision: str
    parts: tuple[Part, ...]
    not_readable: tuple[str, ...]


class Writer:
    """Adds files to an archive that is being written, each with its hash."""

    def __init__(self, out: zipfile.ZipFile) -> None:
        self.out, self.parts, self.not_readable = out, list[Part](), list[str]()

    def add(self, name: str, source: Path, *, expected_sha256: str | None = None) -> None:
        """Add a file; one that is not there, or no longer what it was, is named as not readable."""
        # Photos and PDF are packed already; packing them again costs time and saves nothing.
        kind = zipfile.ZIP_DEFLATED if source.suffix in {".sqlite", ".csv", ".json", ".txt"} else zipfile.ZIP_STORED
        try:
            if expected_sha256 is not None and files.hash_file(source)[0] != expected_sha256:
                self.not_readable.append(name)
                return
            stream = source.open("rb")
        except OSError:
            self.not_readable.append(name)
            return
        with stream, self.out.open(_entry(name, kind), "w", force_zip64=True) as target:
            digest, size_bytes = hashlib.sha256(), 0
            while chunk := stream.read(files.CHUNK_BYTES):
                digest.update(chunk)
                size_bytes += len(chunk)
                target.write(chunk)
        self.parts.append(Part(name, digest.hexdigest(), size_bytes))

    def add_text(self, name: str, content: str) -> None:
        """Add a text."""
        self.out.writestr(_entry(name, zipfile.ZIP_DEFLATED), content)

    def finish(self, *, made_at: dt.datetime, revision: str) -> Manifest:
        """Add the manifest, which says what the archive holds."""
        manifest = Manifest(
            made_at.isoformat(timespec="seconds"), revision, tuple(self.parts), tuple(self.not_readable)
        )
        said = {
            "format": FORMAT,
            "made_at": manifest.made_at,
            "revision": revision,
            "parts": [{"name": part.name, "sha256": part.sha256, "size_bytes": part.size_bytes} for part in self.parts],
            "not_readable": self.not_readable,
        }
        self.add_text(MANIFEST, json.dumps(said, indent=1))
        return manifest


def _entry(name: str, kind: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.compress_type = kind
    return entry


@contextlib.contextmanager
def writing(target: Path) -> Iterator[Writer]:
    """Write an archive under a temporary name beside its own; it takes its name only when it is whole and synced."""
    handle, part_name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    part = Path(part_name)
    try:
        with os.fdopen(handle, "w+b") as stream:
            with zipfile.ZipFile(stream, "w") as out:
                yield Writer(out)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(target)
        files.sync_folder(target.parent)
    finally:
        part.unlink(missing_ok=True)


def read_manifest(path: Path) -> Manifest:
    """What an archive says that it holds; every name in it is one that we would write.

    Raises:
        BadFile: If this is no archive of ours.
    """
    expected = "a backup made by lostgallon backup"
    try:
        with zipfile.ZipFile(path) as archive:
            if archive.getinfo(MANIFEST).file_size > LARGEST_MANIFEST_BYTES:
                raise BadFile(str(path), found="a manifest without end", expected=expected)
            said = json.loads(archive.read(MANIFEST))
        return _manifest(said)
    except FileNotFoundError:
        raise BadFile(str(path), found="no such file", expected=expected) from None
    except OSError as error:
        raise BadFile(str(path), found=(error.strerror or "an unreadable file").lower(), expected=expected) from None
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError, zlib.error, *_BAD_ZIP):
        raise BadFile(str(path), found="something else", expected=expected) from None


def _manifest(said: Mapping[str, Any]) -> Manifest:
    parts = tuple(Part(part["name"], part["sha256"], part["size_bytes"]) for part in said["parts"])
    if said["format"] != FORMAT or not all(_is_ours(part) for part in parts):
        raise ValueError
    if [part.name for part in parts].count(DATABASE) != 1 or len({part.name for part in parts}) != len(parts):
        raise ValueError
    return Manifest(str(said["made_at"]), str(said["revision"]), parts, tuple(map(str, said["not_readable"])))


def _is_ours(part: Part) -> bool:
    return bool(_NAME.fullmatch(part.name) and _HASH.fullmatch(part.sha256)) and isinstance(part.size_bytes, int)


def unpack(path: Path, manifest: Manifest, folder: Path) -> None:
    """Unpack every file that the manifest names into a folder, checking size and hash on the way.

    Raises:
        BadFile: If a file is missing, longer than it should be, or not what it was.
    """
    with zipfile.ZipFile(path) as archive:
        for part in manifest.parts:
            target = folder / part.name
            target.parent.mkdir(parents=True, exist_ok=True)
            try:
                with archive.open(part.name) as source, target.open("wb") as out:
                    sha256, size_bytes = _copy_at_most(part.size_bytes, source, out)
                    out.flush()
                    os.fsync(out.fileno())
            except (KeyError, EOFError, zlib.error, *_BAD_ZIP):
                raise _damaged(path, part) from None
            if (sha256, size_bytes) != (part.sha256, part.size_bytes):
                raise _damaged(path, part)


def _copy_at_most(size_bytes: int, source: Any, out: BinaryIO) -> tuple[str, int]:
    digest, written = hashlib.sha256(), 0
    while written <= size_bytes and (chunk := source.read(files.CHUNK_BYTES)):
        digest.update(chunk)
        written += out.write(chunk)
    return digest.hexdigest(), written


def _damaged(path: Path, part: Part) -> BadFile:
    return BadFile(
        f"{path}: {part.name}", found="something else than was backed up", expected="its hash; use another backup"
    )
