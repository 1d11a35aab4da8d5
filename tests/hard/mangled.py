"""Files as no logger writes them: sound files of each kind, damaged in ways that a number alone decides.

A damaged file is either read or refused in one line (a Trouble). Anything else is counted: another exception, more than
5 s of processor time, more than 500 MB of memory.
"""

import json
import os
import random
import re
import resource
import select
import subprocess
import sys
import tempfile
from dataclasses import asdict, dataclass, field
from pathlib import Path

from tests.hard import sound_files

LONGEST_S, LONGEST_WALL_S, MOST_MB, LARGEST = 5.0, 60.0, 500, 2**21
ODD = (
    b"", b"0", b"-1", b"nan", b"inf", b"-inf", b"1e308", b"1e-320", b"99999999999999999999999", b"0x41", b"\x00", b"\xff\xfe",
    b"\xef\xbb\xbf", b"\r", b"\n\n", b'"', b"''", b";", b"\t", b",,,,,,,,", b"=HYPERLINK(1)", b"@SUM(1)", b"<script>", b"#image(1)",
    b"../../etc/passwd", b"\xd9\xa3\xd9\xa4", b"\xc2\xbd", b"1/0", b"2025-02-30", b"31/12/0000", b"9999-12-31", b"[[[[[[[[", b"{}", b"[]",
    b"true", b"1_000", b"1,000.5,0", b"\xe2\x80\xae", b"\xf0\x9f\x9a\x97", b"\x1b[2J", b"%s%n", b"${x}", b"psi", b"mi", b"L", b" ", b"12:61:61",
    b"-0", b"1e999", b"\xff" * 9, b"a" * 5000, b"9" * 400,
)  # fmt: skip


def mangled(seeds, number, kind):
    """The damaged file of this number: same kind and number, same bytes."""
    rng = random.Random(f"{kind} {number}")
    content = bytearray(rng.choice(seeds))
    # Half of the files stay files of their kind with odd values, so that more than the first rule is tried.
    damage = _DAMAGE if rng.random() < 0.5 else _ODD_VALUES
    for _ in range(rng.choice((1, 1, 2, 3, 5, 9, 30))):
        rng.choice(damage)(content, rng, seeds)
        del content[LARGEST:]
    return bytes(content)


def _place(content, rng):
    return rng.randrange(len(content) + 1)


def _flip(content, rng, _seeds):
    if content:
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)


def _random_byte(content, rng, _seeds):
    if content:
        content[rng.randrange(len(content))] = rng.randrange(256)


def _cut_out(content, rng, _seeds):
    start = _place(content, rng)
    del content[start : start + rng.choice((1, 3, 20, 500))]


def _cut_off(content, rng, _seeds):
    del content[_place(content, rng) :]


def _twice(content, rng, _seeds):
    start = _place(content, rng)
    piece = content[start : start + rng.choice((1, 8, 80, 2000))]
    at = _place(content, rng)
    content[at:at] = piece * rng.choice((1, 2, 50))


def _odd(content, rng, _seeds):
    at = _place(content, rng)
    content[at : at + rng.choice((0, 1, 6))] = rng.choice(ODD)


def _odd_cell(content, rng, _seeds):
    for separator in rng.sample((b",", b";", b"\t", b"=", b'"'), 5):
        cells = bytes(content).split(separator)
        if len(cells) > 2:
            for _ in range(rng.choice((1, 4, 40))):
                cells[rng.randrange(len(cells))] = rng.choice(ODD)
            content[:] = separator.join(cells)
            return


def _lines(content, rng, _seeds):
    lines = bytes(content).split(b"\n")
    if len(lines) < 3:
        return
    how = rng.randrange(4)
    if how == 0:
        rng.shuffle(lines)
    elif how == 1:
        del lines[0]
    elif how == 2:
        lines = lines[: rng.randrange(1, len(lines))] * (2 if len(content) > 2**17 else 20)
    else:
        at = rng.randrange(len(lines))
        lines[at] = lines[at] * (2 if len(lines[at]) > 2**14 else 200)
    content[:] = b"\n".join(lines)


def _odd_value(content, rng, _seeds):
    """`key = value` stays a line of that shape, so that more than the syntax is tried."""
    lines = bytes(content).split(b"\n")
    told = [at for at, line in enumerate(lines) if b"=" in line]
    if not told:
        return
    at = rng.choice(told)
    key = lines[at].partition(b"=")[0]
    odd = rng.choice(ODD).replace(b'"', b"").replace(b"\n", b"")
    number = b"%d" % rng.choice((0, -1, 3, 10**9, 10**30))
    lines[at] = key + b"= " + rng.choice((number, b'"%s"' % odd, b'"%s psi"' % number, b'"%s mpg"' % number, b"[]", b"{ a = 1 }", b"true", b"1e999", b"nan",
                                          b"2026-02-01", b'["%s"]' % odd))  # fmt: skip
    content[:] = b"\n".join(lines)


def _splice(content, rng, seeds):
    other = rng.choice(seeds)
    content[_place(content, rng) :] = other[rng.randrange(len(other)) :]


def _encoding(content, rng, _seeds):
    text = bytes(content).decode("latin-1")
    content[:] = text.encode(rng.choice(("utf-16", "utf-8-sig", "utf-16-be", "utf-8")), "replace")


def _big_number(content, rng, _seeds):
    """Lengths and counts of binary files: four bytes that say very much, or next to nothing."""
    at = _place(content, rng)
    content[at : at + 4] = rng.choice(
        (b"\xff\xff\xff\x7f", b"\x00\x00\x00\x00", b"\xff\xff\xff\xff", b"\x00\x00\x00\x80")
    )


_DAMAGE = (
    _flip,
    _random_byte,
    _cut_out,
    _cut_off,
    _twice,
    _odd,
    _odd_cell,
    _odd_cell,
    _odd_value,
    _odd_value,
    _lines,
    _splice,
    _encoding,
    _big_number,
)


_ODD_VALUES = (_odd_value, _odd_value, _odd_value, _odd_cell)


def _read_case(path):
    from lostgallon.readers.case import read_case  # noqa: PLC0415 - a child loads what it needs

    read_case(path)


def _read_fills(path):
    from lostgallon.readers.fills import read_fills  # noqa: PLC0415 - the same

    read_fills(path)


def _read_drive(path):
    from lostgallon.readers.drives import read_drive  # noqa: PLC0415 - the same

    read_drive(path)


def _read_image(path):
    from lostgallon.web.pictures import clean_photo  # noqa: PLC0415 - the same

    clean_photo(path.read_bytes())


@dataclass(frozen=True)
class Kind:
    name: str
    seeds: object
    read: object
    suffixes: tuple
    times: int


KINDS = {
    kind.name: kind
    for kind in (
        Kind("case files", sound_files.case_seeds, _read_case, (".toml",), 5000),
        Kind("fill-up logs", sound_files.fill_seeds, _read_fills, (".csv", ".txt", ".jsonl"), 5000),
        Kind("drive logs", sound_files.drive_seeds, _read_drive, (".csv",), 5000),
        Kind("images", sound_files.image_seeds, _read_image, (".jpg",), 5000),
        Kind("spreadsheets", sound_files.sheet_seeds, _read_fills, (".xlsx", ".ods"), 1000),
        Kind("MDF4 logs", sound_files.mdf_seeds, _read_drive, (".mf4",), 1000),
    )
}


_WHO = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)


def _processor_s():
    """Seconds of processor time so far, of this process and of those it started and saw end."""
    return sum(used.ru_utime + used.ru_stime for used in map(resource.getrusage, _WHO))


def _most_mb():
    """The most that this process, or one it started, ever held.

    A new process inherits `ru_maxrss` from the one that started it, a large test run for instance; `VmHWM` starts anew.
    """
    own = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text("ascii"))
    return max(int(own[1]), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss) // 1024


def read_from(name, first, last):
    """The life of a reading process: each file a line when it starts and one when it is done."""
    from lostgallon.shop.trouble import Trouble  # noqa: PLC0415 - a child loads what it needs

    kind = KINDS[name]
    seeds = kind.seeds()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(first, last):
            print(json.dumps({"start": number}), flush=True)
            path = Path(folder) / f"file{kind.suffixes[number % len(kind.suffixes)]}"
            path.write_bytes(mangled(seeds, number, name))
            begun, said = _processor_s(), "read"
            try:
                kind.read(path)
            except Trouble as trouble:
                said = "refused" if "\n" not in str(trouble) else f"more than one line: {trouble!r}"
            except Exception as error:  # noqa: BLE001 - counted
                said = f"{type(error).__name__}: {error}"[:300]
            seconds = _processor_s() - begun
            memory = _most_mb()
            print(
                json.dumps({"done": number, "said": said, "seconds": round(seconds, 3), "memory": memory}), flush=True
            )
            if memory > MOST_MB:
                # The kernel tells the most that a process ever held: the next file needs a fresh one.
                return


# -- counting ------------------------------------------------------------------------------------------------------


@dataclass
class Count:
    """What became of the damaged files of a kind so far; kept in a file, so that a stop loses nothing."""

    name: str
    done: int = 0
    read: int = 0
    refused: int = 0
    longest_s: float = 0.0
    memory_mb: int = 0
    wrong: list = field(default_factory=list)

    def add(self, number, said, seconds, memory):
        self.done = number + 1
        self.read += said == "read"
        self.refused += said == "refused"
        self.longest_s = max(self.longest_s, seconds)
        self.memory_mb = max(self.memory_mb, memory)
        if said not in {"read", "refused"}:
            self.wrong.append([number, said])
        if seconds > LONGEST_S:
            self.wrong.append([number, f"{seconds:.1f} s"])
        if memory > MOST_MB:
            self.wrong.append([number, f"{memory} MB"])

    def line(self):
        return f"| {self.name} | {self.done} | {self.read} | {self.refused} | {len(self.wrong)} | {self.longest_s:.2f} | {self.memory_mb} |"


HEAD = "| damaged files | times | read | refused in one line | crash, hang or too much memory | longest s | most MB |\n| --- | --- | --- | --- | --- | --- | --- |"


def count_kind(name, times, kept=None):
    """Read damaged files from where the last count stopped."""
    count = Count(name)
    if kept and kept.exists():
        count = Count(**json.loads(kept.read_text("utf-8")))
    while count.done < times:
        _one_child(count, min(times, count.done + 500))
        if kept:
            kept.write_text(json.dumps(asdict(count)), "utf-8")
    return count


def _one_child(count, last):
    code = f"from tests.hard.mangled import read_from; read_from({count.name!r}, {count.done}, {last})"
    alone = {**os.environ, "PYTHONPATH": os.pathsep.join(["src", "tests", *filter(None, sys.path)])}
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=alone
    ) as child:
        try:
            _listen(child, count)
        finally:
            child.kill()


def _listen(child, count):
    started = count.done
    while True:
        ready, _, _ = select.select([child.stdout], [], [], LONGEST_WALL_S)
        line = child.stdout.readline() if ready else None
        if line is None:
            count.add(started, "hang", LONGEST_S, 0)
            return
        if not line:
            if child.wait() != 0:
                count.add(started, f"died with {child.returncode}", 0.0, 0)
            return
        told = json.loads(line)
        if "start" in told:
            started = told["start"]
        else:
            count.add(told["done"], told["said"], told["seconds"], told["memory"])
