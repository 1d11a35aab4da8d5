"""A real browser on a shop that is served on a port of this machine; counts what a person has to tap and type."""

import shutil
import socket
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

import uvicorn
from playwright.sync_api import Page

from lostgallon.paper.words import Words
from lostgallon.web.words import page_words

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
    """One hand on a page, in one language: taps and typed fields are counted."""

    page: Page
    say: Words = field(default_factory=lambda: page_words("en"))
    taps: int = 0
    fields: int = 0

    def tap(self, name, *, role="button", exact=True):
        self.press_on(self.page.get_by_role(role, name=name, exact=exact).first)

    def press_on(self, button):
        """Press what loads a page."""
        self.taps += 1
        with self.page.expect_event("load"):
            button.click()

    def type(self, label, text):
        self.fields += 1
        self.page.get_by_label(label, exact=True).first.fill(text)

    def answer(self, name, value):
        """A field by its name: one of its choices, or text."""
        choice = self.page.locator(f'label:has(> input[type=radio][name="{name}"][value="{value}"])')
        if choice.count():
            self.taps += 1
            choice.click()
        else:
            self.fields += 1
            self.page.locator(f"input[name='{name}']").fill(value)

    def press(self, key):
        """A key of the keypad, like the one that goes on."""
        self.taps += 1
        self.page.keyboard.press(key)

    def step(self):
        """On to the next field of a phone's form."""
        self.taps += 1
        self.page.locator("[data-step='1']").click()

    def next(self):
        """The button under the thumb."""
        self.press_on(self.page.locator(".next a.plate"))


TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def violations(page):
    """What axe-core finds on a page by all its rules, in a line each."""
    page.evaluate(AXE)
    wanted = {"type": "tag", "values": TAGS}
    found = page.evaluate("wanted => axe.run(document, {runOnly: wanted, resultTypes: ['violations']})", wanted)
    return [
        f"{row['id']}: {node['target']} {node['failureSummary'][:160]}"
        for row in found["violations"]
        for node in row["nodes"]
    ]
