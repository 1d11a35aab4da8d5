"""The pictures of a recorded drive: every reading is on them at its place, on a page and on paper alike."""

import re
import xml.etree.ElementTree as ET

import pytest

from lostgallon.paper.drive_svg import drive_pictures, trims_svg, warm_up_svg
from lostgallon.paper.measure import METRIC
from lostgallon.paper.svg import Frame
from lostgallon.paper.words import words_in
from lostgallon.shop.driven import CoastDown, DriveTold, Trim, WarmUp
from lostgallon.shop.spread import Spread

PAGE, PAPER = Frame(), Frame(width_px=680.0)
WORDS = words_in("en")
WARM_UP = WarmUp(
    2.0, 57.0, None, "held at 57 °C",
    curve=((0.0, 2.0), (10.0, 57.0), (20.0, 57.0)),
    expected_low=((0.0, 2.0), (10.0, 80.0), (20.0, 80.0)),
    expected_high=((0.0, 2.0), (10.0, 100.0), (20.0, 100.0)),
)  # fmt: skip
TRIMS = (
    Trim(1, "idle", 2.0, 10.5, 12.5, 90),
    Trim(1, "cruise", 0.0, -2.0, -2.0, 90),
    Trim(2, "idle", 0.0, 0.0, 0.0, 9),
)
COAST = CoastDown(
    150.0, 0.03, Spread(0.01, 0.009, 0.01, 0.011), "about 40 N more",
    curve=((50.0, 225.0), (90.0, 393.0)), expected=((30.0, 137.0), (120.0, 542.0)),
)  # fmt: skip
DRIVE = DriveTold(
    "drive.csv", "", "38.9 km", warm_up=WARM_UP, trims=TRIMS, trims_say="lean at idle", coast_downs=(COAST,),
    fuel_over_distance=((0.0, 0.0), (16.09344, 1.8927)),
)  # fmt: skip


@pytest.mark.parametrize("frame", [PAGE, PAPER], ids=["page", "paper"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_all_four_pictures_are_drawn_and_say_what_they_show(frame, language):
    pictures = drive_pictures(DRIVE, words_in(language), frame=frame)
    assert len(pictures) == 4
    for picture in pictures:
        root = ET.fromstring(picture.svg)  # noqa: S314 - our own text
        assert root.get("aria-label")
        assert "style=" not in picture.svg
    assert pictures[0].says == "held at 57 °C"


def test_a_drive_without_readings_has_no_picture():
    assert drive_pictures(DriveTold("drive.csv", "", "nothing"), WORDS, frame=PAGE) == ()


def test_a_coolant_below_the_band_is_drawn_below_it():
    paths = re.findall(r'd="M([^"]+)" class="(likely|curve)"', warm_up_svg(WARM_UP, WORDS, frame=PAPER))
    ends = {name: [tuple(map(float, point.split())) for point in path.split("L")] for path, name in paths}
    # In a picture y grows downward; at 10 minutes the band ends at 80 degC and the coolant lies at 57.
    band_low = max(y for x, y in ends["likely"] if x == pytest.approx(340.0))
    coolant = next(y for x, y in ends["curve"] if x == pytest.approx(340.0))
    assert coolant > band_low


def test_trims_are_bars_from_zero_with_their_figure():
    svg = trims_svg(TRIMS, WORDS, frame=PAPER)
    assert ">+12.5<" in svg
    assert ">−2.0<" in svg
    bars = re.findall(r'class="solid" y="[\d.]+" height="14" x="([\d.]+)" width="([\d.]+)"', svg)
    # The rule runs from 0.2 to 0.84 of 680 px over 50 %: 8.704 px a per cent, zero at 353.6 px.
    assert [float(width) for _, width in bars] == pytest.approx([108.8, 17.41, 0.0], abs=0.01)
    assert float(bars[0][0]) == pytest.approx(353.6, abs=0.01)


def test_fuel_over_distance_is_in_the_units_of_the_reader():
    us, metric = (drive_pictures(DRIVE, words_in("en", unit), frame=PAPER)[3].svg for unit in (WORDS.measure, METRIC))
    # 16.09344 km are 10 mi, 1.8927 L are half a gallon.
    assert "Fuel used, gal" in us
    assert ">0.4<" in us
    assert "Fuel used, L" in metric
    assert ">1.5<" in metric
