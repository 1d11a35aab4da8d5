"""A real browser on a shop that is served on a port of this machine; counts what a person has to tap and type."""

import shutil
import socket
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import uvicorn
from playwright.sync_api import Page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")


class Served:
    """An application on a free port, in a thread."""

    def __init__(self, app):
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self.socket.getsockname()[1]}"
        self._server = uvicorn.Server(uvicorn.Config(app, log_level="warning", lifespan="off"))
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [self.socket]}, daemon=True)
        self._thread.start()
        while not self._server.started:
            time.sleep(0.01)

    def stop(self):
        self._server.should_exit = True
        self._thread.join(10)
        self.socket.close()


@dataclass
class Hand:
    """One hand on a page: taps and typed fields are counted."""

    page: Page
    taps: int = 0
    fields: int = 0

    def tap(self, name, *, role="button", exact=True):
        self.taps += 1
        with self.page.expect_event("load"):
            self.page.get_by_role(role, name=name, exact=exact).first.click()

    def choose(self, name, within=None):
        self.taps += 1
        place = self.page.get_by_role("group", name=within) if within else self.page
        place.get_by_text(name, exact=True).first.click()

    def type(self, label, text):
        self.fields += 1
        self.page.get_by_label(label, exact=True).first.fill(text)

    def next(self):
        """The button under the thumb."""
        self.taps += 1
        self.page.locator(".next a.plate").click()


TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def violations(page, rules=None):
    """What axe-core finds on a page, in a line each; all its rules, or only those named."""
    page.evaluate(AXE)
    wanted = {"type": "rule", "values": rules} if rules else {"type": "tag", "values": TAGS}
    found = page.evaluate("wanted => axe.run(document, {runOnly: wanted, resultTypes: ['violations']})", wanted)
    return [
        f"{row['id']}: {node['target']} {node['failureSummary'][:160]}"
        for row in found["violations"]
        for node in row["nodes"]
    ]
