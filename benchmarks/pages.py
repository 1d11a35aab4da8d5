"""How quick the pages are with 20 devices at once: page, entry saved, account refreshed, first page, page weight.

python -m benchmarks.pages [--json] [--devices 20] [--rounds 5] [--pause 1.5]

A device is a person: it pauses between two actions. With --pause 0 the figures say how long a queue of 20 is.
"""

import argparse
import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from lostgallon.readers.cast import cast_entries

GOALS = {
    "page_p95_ms": 80.0,
    "entry_saved_p95_ms": 200.0,
    "account_refreshed_p95_s": 1.0,
    "account_refreshed_20_p95_s": 5.0,
    "first_page_s": 1.5,
    "page_weight_kb": 250.0,
}
CHECKS = ("oil_check", "coolant_level", "air_filter_look", "wheel_spin", "bearing", "parking_brake", "atf")
LOADED = ("/static/look.css", "/static/pictures.css", "/static/htmx.min.js", "/static/pages.js",
          "/static/fonts/AtkinsonHyperlegible-Regular.ttf", "/static/fonts/AtkinsonHyperlegible-Bold.ttf")  # fmt: skip


@dataclass
class Device:
    """One phone: its connection, its cookie, the form token of its last page."""

    port: int
    cookie: str = ""
    page: str = ""
    place: str = ""
    pages_ms: list[float] = field(default_factory=list)
    entries_ms: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)

    def ask(self, method: str, path: str, fields: dict[str, str] | None = None) -> tuple[int, bytes, float]:
        """Status, content and milliseconds of one request."""
        headers = {"cookie": self.cookie}
        body = None
        if fields is not None:
            headers["content-type"] = "application/x-www-form-urlencoded"
            body = urlencode(fields)
        before = time.perf_counter()
        answer = self._answer(method, path, body, headers)
        content = answer.read()
        took_ms = 1000.0 * (time.perf_counter() - before)
        cookie = answer.getheader("set-cookie")
        if cookie:
            self.cookie = cookie.partition(";")[0]
        self.place = answer.getheader("location") or ""
        return answer.status, content, took_ms

    def _answer(self, method: str, path: str, body: str | None, headers: dict[str, str]) -> http.client.HTTPResponse:
        # A connection left alone for some seconds is closed by the server; a browser opens it again without a word.
        for again in (True, False):
            try:
                self.connection.request(method, path, body, headers)
                return self.connection.getresponse()
            except (http.client.RemoteDisconnected, ConnectionResetError, BrokenPipeError):
                self.connection.close()
                if not again:
                    raise
        raise AssertionError

    def look(self, path: str) -> str:
        """A page, timed."""
        status, content, took_ms = self.ask("GET", path)
        if status == 200:
            self.pages_ms.append(took_ms)
        self.page = content.decode()
        return self.page

    def enter(self, path: str, fields: dict[str, str]) -> str:
        """An entry, timed until it is acknowledged; returns where the page goes on."""
        token = re.search(r'name="form_token" value="(\w+)"', self.page)
        _, _, took_ms = self.ask("POST", path, {"form_token": token[1] if token else "", **fields})
        self.entries_ms.append(took_ms)
        return self.place


def start(port: int) -> tuple[subprocess.Popen[bytes], float]:
    """The demo on a port, and the seconds until its first page."""
    before = time.perf_counter()
    command = [sys.executable, "-m", "lostgallon", "demo", "--no-browser", "--port", str(port)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    while True:
        try:
            Device(port).look("/")
        except OSError:
            time.sleep(0.02)
        else:
            return process, time.perf_counter() - before


def refreshed_s(device: Device, visit: str, *, every_s: float = 0.05) -> float:
    """Seconds until the account of a visit includes its last entry."""
    before = time.perf_counter()
    while True:
        _, content, _ = device.ask("GET", f"/api/visits/{visit}/account")
        told = json.loads(content)
        if told["account"] and not told["updating"]:
            return time.perf_counter() - before
        time.sleep(every_s)


def work(device: Device, visit: str, rounds: int, *, mark: int, pause_s: float) -> None:
    """One device: look at the visit, open a check, save it, again."""
    time.sleep(pause_s * mark / 20.0)
    for turn in range(rounds):
        device.look(f"/visit/{visit}")
        time.sleep(pause_s)
        check = CHECKS[(turn + mark) % len(CHECKS)]
        device.look(f"/visit/{visit}/check/{check}")
        device.enter(
            f"/visit/{visit}/check/{check}", {"result": ("normal", "skipped")[turn % 2], "entry_key": f"{mark}-{turn}"}
        )


FIGURES = {
    key: str(value)
    for key, value in cast_entries("frost-hatch").items()
    if key.split(".")[0] in {"vehicle", "use", "then", "now"} and not key.endswith("until")
}
"""The gray hatch in January, as it is typed."""


def open_visit(device: Device, number: int) -> str:
    """A visit of one device's own, with its figures; returns its id."""
    device.look("/start")
    fields = {"description": f"Hatch {number}", "booked.operation": "struts", "entry_key": f"own-{number}"}
    place = device.enter("/start", fields)
    visit = place.split("/")[2]
    device.look(f"/visit/{visit}/figures")
    device.enter(f"/visit/{visit}/figures", {**FIGURES, "entry_key": f"own-figures-{number}"})
    return visit


def refreshed_together_s(port: int, devices: int, rounds: int) -> list[float]:
    """Seconds until the account follows, when every device enters something into a visit of its own at once."""
    phones = [Device(port) for _ in range(devices)]
    visits = [open_visit(phone, number) for number, phone in enumerate(phones)]
    for phone, visit in zip(phones, visits, strict=True):
        refreshed_s(phone, visit)
    took: list[float] = []

    def one(phone: Device, visit: str) -> None:
        for turn in range(rounds):
            start_line.wait()
            phone.look(f"/visit/{visit}/check/{CHECKS[turn]}")
            phone.enter(f"/visit/{visit}/check/{CHECKS[turn]}", {"result": "normal", "entry_key": f"all-{turn}"})
            took.append(refreshed_s(phone, visit, every_s=0.4))

    start_line = threading.Barrier(devices)
    threads = [threading.Thread(target=one, args=pair) for pair in zip(phones, visits, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return took


def server_cpu_ms(process: subprocess.Popen[bytes], what: Callable[[int], object], count: int) -> float:
    """Processor milliseconds of the server for one of several requests: what a busy machine does not change."""
    stat = Path(f"/proc/{process.pid}/stat")
    if not stat.exists():
        return float("nan")

    def ticks() -> int:
        fields = stat.read_text("utf-8").rpartition(")")[2].split()
        return int(fields[11]) + int(fields[12])

    before = ticks()
    for turn in range(count):
        what(turn)
    return 1000.0 * (ticks() - before) / os.sysconf("SC_CLK_TCK") / count


def p95(values: list[float]) -> float:
    """The 95th percentile."""
    return statistics.quantiles(values, n=20)[-1] if len(values) > 1 else values[0]


def settle(one: Device) -> list[str]:
    """Wait until every visit of the demo is there with its account; returns their ids."""
    while len(visits := re.findall(r'<h3><a href="/visit/(\w+)"', one.look("/"))) < 8:
        time.sleep(0.5)
    for visit in visits:
        refreshed_s(one, visit)
    return visits


def measure(port: int, *, devices: int, rounds: int, pause_s: float) -> dict[str, float]:
    """Every figure of this benchmark."""
    process, first_page_s = start(port)
    try:
        one = Device(port)
        visit = settle(one)[0]
        one.pages_ms.clear()
        one.look(f"/visit/{visit}")
        refreshes = []
        for turn in range(6):
            one.enter(f"/visit/{visit}/check/{CHECKS[turn]}", {"result": "normal", "entry_key": f"one-{turn}"})
            refreshes.append(refreshed_s(one, visit))
            one.look(f"/visit/{visit}")
        page_cpu_ms = server_cpu_ms(process, lambda _: one.look(f"/visit/{visit}"), 50)
        entry_cpu_ms = server_cpu_ms(
            process,
            lambda turn: one.enter(
                f"/visit/{visit}/check/atf", {"result": ("normal", "skipped")[turn % 2], "entry_key": f"cpu-{turn}"}
            ),
            50,
        )
        static_cpu_ms = server_cpu_ms(process, lambda _: one.ask("GET", LOADED[0]), 200)
        weight = len(one.page.encode()) + sum(len(one.ask("GET", path)[1]) for path in LOADED)
        phones = [Device(port) for _ in range(devices)]
        threads = [
            threading.Thread(target=work, args=(phone, visit, rounds), kwargs={"mark": mark, "pause_s": pause_s})
            for mark, phone in enumerate(phones)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        together = refreshed_together_s(port, devices, 3)
        return {
            "devices": devices,
            "page_p95_ms": round(p95([took for phone in phones for took in phone.pages_ms]), 1),
            "entry_saved_p95_ms": round(p95([took for phone in phones for took in phone.entries_ms]), 1),
            "page_alone_median_ms": round(statistics.median(one.pages_ms), 1),
            "entry_alone_median_ms": round(statistics.median(one.entries_ms), 1),
            "page_server_cpu_ms": round(page_cpu_ms, 1),
            "entry_server_cpu_ms": round(entry_cpu_ms, 1),
            "page_times_static_file": round(page_cpu_ms / max(static_cpu_ms, 0.05), 1),
            "load_per_core": round(os.getloadavg()[0] / (os.cpu_count() or 1), 1),
            "account_refreshed_p95_s": round(p95(refreshes), 2),
            "account_refreshed_20_p95_s": round(p95(together), 2),
            "first_page_s": round(first_page_s, 2),
            "page_weight_kb": round(weight / 1000.0, 1),
        }
    finally:
        process.terminate()
        process.wait(20)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--devices", type=int, default=20)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--pause", type=float, default=1.5)
    parser.add_argument("--port", type=int, default=8391)
    asked = parser.parse_args()
    found = measure(asked.port, devices=asked.devices, rounds=asked.rounds, pause_s=asked.pause)
    if asked.json:
        print(json.dumps({"benchmark": "pages", **found, "goals": GOALS}))
        return
    for name, value in found.items():
        goal = f"   goal {GOALS[name]:g}" if name in GOALS else ""
        print(f"{name:26} {value:10g}{goal}")


if __name__ == "__main__":
    main()
