"""Draws the pictures of README and docs from the demo: python -m tools.pictures (needs pdftoppm and Chromium)."""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import Page, ViewportSize, sync_playwright

from lostgallon.job.account import LETTER_DRAWS, Asked, account_of
from lostgallon.paper.letter import write_letter
from lostgallon.readers.case import read_case

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "src" / "lostgallon" / "data" / "demo"
PICTURES = ROOT / "docs" / "pictures"
DOTS_PER_INCH = "88"
PHONE = ViewportSize(width=390, height=780)
WAIT_MS = 60_000  # at most, for the first account; the page asks again by itself


def draw_letter(name: str) -> Path:
    """The owner's letter of one demo visit as a picture of its page."""
    case = read_case(DEMO / f"{name}.toml")
    picture = PICTURES / f"letter-{name}"
    with TemporaryDirectory() as folder:
        letter = Path(folder) / "letter.pdf"
        write_letter(account_of(case, Asked(draws=LETTER_DRAWS)), case, letter)
        command = ["pdftoppm", "-r", DOTS_PER_INCH, "-f", "1", "-singlefile", "-png", str(letter), str(picture)]
        subprocess.run(command, check=True)
    return picture.with_suffix(".png")


@contextmanager
def demo_shop() -> Iterator[str]:
    """The invented shop at its own hour, served on this machine as long as the block runs; its address."""
    command = [sys.executable, "-m", "tools.standing_demo"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as shop:
        said = "" if shop.stdout is None else shop.stdout.readline()
        found = re.search(r"http://\S+", said)
        try:
            yield found[0] if found else ""
        finally:
            shop.terminate()


def draw_pages() -> Iterator[Path]:
    """The first visit of the demo on a phone: the list, the visit, what explains it, the check that is next."""
    with demo_shop() as address, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = browser.new_page(viewport=PHONE, device_scale_factor=1.5)
        page.goto(address)
        yield taken(page, "visits")
        page.goto(f"{address.rstrip('/')}/guide")
        page.locator("main a").last.click()
        page.get_by_text("The first account is on its way").wait_for(state="detached", timeout=WAIT_MS)
        page.wait_for_load_state("networkidle")
        yield taken(page, "visit")
        page.get_by_role("heading", name="What explains it").evaluate("head => head.scrollIntoView()")
        yield taken(page, "explains")
        page.locator(".next a.plate").click()
        page.get_by_role("heading", level=1).wait_for()
        yield taken(page, "next")
        browser.close()


def taken(page: Page, name: str) -> Path:
    """What the phone shows now."""
    picture = PICTURES / f"phone-{name}.png"
    page.wait_for_load_state("networkidle")
    page.evaluate("document.fonts.ready")
    page.screenshot(path=picture, animations="disabled", caret="hide")
    return picture


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    for visit in ("two-faults", "winter-only"):
        print(draw_letter(visit).relative_to(ROOT))
    for picture in draw_pages():
        print(picture.relative_to(ROOT))
