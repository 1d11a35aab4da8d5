"""Every page in every form as pictures, and what a machine can see on them: python -m tests.hard.screens OUT [--only NAME]

The demo's eight visits with their own accounts, and invented accounts whose bridges are hard to draw. Each page is opened
at each width in each light and language, with everything folded open; a tall page is cut into columns of one picture.
What is wider than its page, cut off, lies upon other words or stands in English on a Spanish page is said in a line; what
people of the demo typed is English. Somebody has to look at the pictures.
"""

import argparse
import contextlib
import itertools
import json
import re
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from tests.paper import cast
from tests.web.browser import ARGUMENTS, CHROMIUM, Served
from tests.web.shop import Shop

WIDTHS, LIGHTS, LANGUAGES = (360, 1280), ("bright", "dim"), ("en", "es")
COLUMN_PX, GAP_PX, WIDEST_PX = 1400, 12, 1500
READY_S = 240
SHOP_PAGES = (
    "/",
    "/start",
    "/choices",
    "/shop",
    "/gauges",
    "/reading",
    "/guide",
    "/learned",
    "/?find=nothing",
    "/nothing",
)
VISIT_PAGES = (
    "figures", "states", "steps", "history", "checks", "hand-back", "port", "check/tire_pressure", "check/ask_onset", "check/plug_read",
    "check/ask_symptoms", "check/kept_memory", "correction/thermostat_replace",
)  # fmt: skip
OPEN_ALL = """() => { document.querySelectorAll('details').forEach(one => one.open = true);
    document.querySelectorAll('.fold').forEach(one => one.checked = true);
    document.querySelectorAll('.next, .offline').forEach(one => one.style.position = 'static'); }"""
SEEN = """() => {
  const said = [], shown = one => one.checkVisibility({visibilityProperty: true, opacityProperty: true}) && one.getBoundingClientRect().width > 2;
  const page = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > page) said.push('wider than the page: ' + document.documentElement.scrollWidth);
  const texts = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const words = node.textContent.trim(), around = node.parentElement;
    if (!words || !shown(around) || around.closest('.only-read, .skip, script, style, noscript, defs')) continue;
    const range = document.createRange(); range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      if (box.width < 2) continue;
      if (box.right > page + 1 || box.left < -1) said.push('out of the page: ' + words.slice(0, 50));
      texts.push([words.slice(0, 40), box, node]);
    }
  }
  for (const one of document.querySelectorAll('main *, .next *')) {
    if (!shown(one) || one.closest('.only-read, svg')) continue;
    const style = getComputedStyle(one);
    if (style.overflow !== 'visible' && (one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1) && one.tagName !== 'TEXTAREA')
      said.push('cut off: ' + (one.textContent || one.value || '').trim().slice(0, 60));
    if (one.matches('button, .plate, .pick label') && one.scrollWidth > one.clientWidth + 1) said.push('too narrow: ' + one.textContent.trim().slice(0, 50));
  }
  if (document.documentElement.lang !== 'en') for (const [words, , node] of texts)
    if (/\\b(the|and|of|with|is|are|not|to|from|by|in)\\b/i.test(node.textContent.replace(/\\d+ (gal|in)\\b/g, '')) && !node.parentElement.closest('[lang=en], blockquote'))
      said.push('in English: ' + node.textContent.trim().slice(0, 90));
  texts.sort((a, b) => a[1].top - b[1].top);
  for (let i = 0; i < texts.length; i++) for (let j = i + 1; j < texts.length; j++) {
    const [a, p, m] = texts[i], [b, q, n] = texts[j];
    if (q.top > p.bottom - 4) break;
    if (m === n) continue;
    const across = Math.min(p.right, q.right) - Math.max(p.left, q.left), down = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
    if (across > 2 && down > 6) said.push(`upon each other: "${a}" and "${b}"`);
  }
  return [...new Set(said)];
}"""


@dataclass(frozen=True)
class Stop:
    """One page to open: a name for its picture, and its address."""

    name: str
    address: str


@contextlib.contextmanager
def demo():
    """The invented shop with all its accounts; its address."""
    command = [sys.executable, "-m", "lostgallon", "demo", "--no-browser", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as shop:
        try:
            address = re.search(r"http://\S+?(?=/?\s)", shop.stdout.readline())[0]
            until = time.monotonic() + READY_S
            while len(visits := asked(f"{address}/api/visits")["visits"]) < 8 and time.monotonic() < until:
                time.sleep(1)
            for visit in visits:
                while asked(f"{address}/api/visits/{visit['id']}/account")["updating"] and time.monotonic() < until:
                    time.sleep(1)
            yield address, visits
        finally:
            shop.terminate()


def asked(address, tries=100):
    try:
        with urllib.request.urlopen(address, timeout=20) as answer:  # noqa: S310 - this machine
            return json.load(answer)
    except urllib.error.URLError:
        if not tries:
            raise
        time.sleep(0.1)  # it says its address before it answers
        return asked(address, tries - 1)


@contextlib.contextmanager
def invented():
    """A shop for each invented account, served side by side; name and address of each visit."""
    with tempfile.TemporaryDirectory() as folder, contextlib.ExitStack() as stack:
        stops = []
        for name, account in cast.CAST.items():
            (place := Path(folder) / name).mkdir()
            shop = Shop(place, account=account)
            served = Served(shop.app)
            stack.callback(shop.desk.store.close)
            stack.callback(served.stop)
            stops.append(Stop(f"bridge-{name}", f"{served.address}/visit/{shop.visit()}"))
        shop = Shop(Path(folder) / "empty" if (Path(folder) / "empty").mkdir() is None else Path())
        served = Served(shop.app)
        stack.callback(shop.desk.store.close)
        stack.callback(served.stop)
        yield [*stops, Stop("empty-shop", served.address), Stop("empty-learned", f"{served.address}/learned")]


def stops_of(address, visits):
    """Every page of the demo."""
    for path in SHOP_PAGES:
        yield Stop(f"shop-{path.strip('/?').replace('=', '-') or 'visits'}", address + path)
    by_plate = {visit["vehicle"]["plate"]: visit["id"] for visit in visits}
    for plate, visit in by_plate.items():
        yield Stop(f"visit-{plate[-1]}", f"{address}/visit/{visit}")
    for path in VISIT_PAGES:
        yield Stop(f"page-{path.replace('/', '-')}", f"{address}/visit/{by_plate['DEMO 2']}/{path}")
    yield Stop("page-wait", f"{address}/visit/{by_plate['DEMO 2']}/wait/1")
    yield Stop("page-handed-back", f"{address}/visit/{by_plate['DEMO 6']}/hand-back")
    yield Stop("page-proof", f"{address}/visit/{by_plate['DEMO 7']}/proof")
    yield Stop("page-vehicle", f"{address}/vehicle/{visits[0]['vehicle']['id']}")


def picture(page, path):
    """The page as it is now; a tall one is cut into columns, and into a picture for every few of them."""
    page.screenshot(path=path, full_page=True)
    with Image.open(path) as whole:
        width, height = whole.size
        columns, beside = -(-height // COLUMN_PX), max(1, WIDEST_PX // (width + GAP_PX))
        if columns == 1:
            return
        for sheet, first in enumerate(range(0, columns, beside)):
            shown = range(first, min(columns, first + beside))
            cut = Image.new("RGB", (len(shown) * (width + GAP_PX) - GAP_PX, COLUMN_PX), "#808080")
            for place, number in enumerate(shown):
                part = whole.crop((0, number * COLUMN_PX, width, min(height, (number + 1) * COLUMN_PX)))
                cut.paste(part, (place * (width + GAP_PX), 0))
            cut.save(path.with_stem(f"{path.stem}-{sheet + 1}"))
    path.unlink()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--only", default="", help="pages whose name has this in it")
    parser.add_argument("--widths", type=int, nargs="*", default=WIDTHS)
    parser.add_argument("--lights", nargs="*", default=LIGHTS)
    parser.add_argument("--languages", nargs="*", default=LANGUAGES)
    parser.add_argument("--text", type=int, default=100, help="size of text in per cent")
    chosen = parser.parse_args()
    chosen.out.mkdir(parents=True, exist_ok=True)
    with demo() as (address, visits), invented() as more, sync_playwright() as playwright:
        stops = [stop for stop in (*stops_of(address, visits), *more) if chosen.only in stop.name]
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        for width, light, language in itertools.product(chosen.widths, chosen.lights, chosen.languages):
            form = f"{width}-{light}-{language}"
            page = browser.new_context(viewport={"width": width, "height": 800}).new_page()
            for stop in stops:
                host = stop.address.split("/", 3)[:3]
                page.context.add_cookies(
                    [
                        {"name": name, "value": value, "url": "/".join(host)}
                        for name, value in (("bay", light), ("language", language))
                    ]
                )
                page.goto(stop.address, wait_until="networkidle")
                page.evaluate(OPEN_ALL)
                if chosen.text != 100:
                    page.evaluate(f"document.documentElement.style.fontSize = '{chosen.text}%'")
                for said in page.evaluate(SEEN):
                    print(f"{form} {stop.name}: {said}", flush=True)
                picture(page, chosen.out / f"{stop.name}-{form}.png")
            page.context.close()


if __name__ == "__main__":
    main()
