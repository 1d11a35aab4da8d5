"""The pictures as SVG: the same geometry as everywhere, safe to embed, recolored by a style sheet alone."""

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from lostgallon.paper.bridge import lay_bridge
from lostgallon.paper.bridge_svg import bridge_svg
from lostgallon.paper.look import colors, kind_id, kind_looks
from lostgallon.paper.rule import rule_of
from lostgallon.paper.rule_svg import rule_svg
from lostgallon.paper.steps_svg import steps_svg
from lostgallon.paper.svg import Frame, color_css, number, picture_css, shared_defs
from lostgallon.paper.time_strip import lay_time
from lostgallon.paper.time_svg import time_svg
from lostgallon.paper.words import words_in
from tests.paper.cast import CASE, CAST, FINDINGS, TWO_FAULT, entry, gal

ACCOUNTS = pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())
PAGE, PAPER = Frame(), Frame(width_px=660.0, deck_px=40.0)
WORDS = words_in("en")


def pictures(account, frame):
    bridge = lay_bridge(account)
    made = [bridge_svg(bridge, WORDS, frame=frame)]
    made += [rule_svg(rule, row, WORDS, frame=frame) for row in account.findings if (rule := rule_of(row))]
    strip = lay_time(account.plan, CASE.visit)
    return made + ([time_svg(strip, WORDS, frame=frame)] if strip else [])


def local(element):
    return element.tag.rsplit("}", 1)[-1]


def classed(root, name):
    return [mark for mark in root.iter() if name in (mark.get("class") or "").split()]


@ACCOUNTS
def test_pictures_of_a_page_carry_no_width_no_style_and_no_script(account):
    for picture in [*pictures(account, PAGE), shared_defs()]:
        root = ET.fromstring(picture)  # noqa: S314 - our own text
        for mark in root.iter():
            assert mark.get("viewBox") is None
            assert mark.get("style") is None
            assert local(mark) not in {"style", "script"}
            assert not [key for key in mark.attrib if key.startswith("on")]


@ACCOUNTS
def test_pictures_on_paper_stand_alone(account):
    bridge = lay_bridge(account)
    for picture in [*pictures(account, PAPER), steps_svg(bridge, WORDS, frame=PAPER, most=12)]:
        root = ET.fromstring(picture)  # noqa: S314 - our own text
        assert "var(" not in picture
        assert root.get("viewBox", "").startswith("0 0 660 ")
        filled = set(re.findall(r"url\(#([\w-]+)\)", picture))
        assert filled <= {mark.get("id") for mark in root.iter()}


@pytest.mark.parametrize("account", [account for account in CAST.values() if lay_bridge(account).spans])
def test_planks_are_as_long_as_the_medians(account):
    bridge = lay_bridge(account)
    root = ET.fromstring(bridge_svg(bridge, WORDS, frame=PAPER))  # noqa: S314 - our own text
    drawn = [float(mark.get("width", "0")) for mark in classed(root, "plank")]
    span = bridge.scale.high - bridge.scale.low
    medians = [abs(step.entry.l_per_100km.p50) / span * 660.0 for step in bridge.steps if step.entry.l_per_100km.p50]
    assert drawn == pytest.approx(medians, abs=0.006)


def test_a_letter_stands_on_planks_of_14_px_or_more():
    root = ET.fromstring(bridge_svg(lay_bridge(TWO_FAULT), WORDS, frame=PAPER))  # noqa: S314 - our own text
    letters = [mark.text for mark in root.iter() if mark.get("class") == "bold" and local(mark) == "text"]
    # At 660 px the rule of 1.65 gal draws 0.035 gal as 14 px: E (0.03), F (0.02) and H (0.01) are too short.
    assert letters == ["A", "B", "C", "D", "G"]


def test_names_can_not_become_markup():
    account = replace(TWO_FAULT, entries=(entry("x", '<script>alert("1")</script> & co', "use", gal(0.1, 0.3, 0.5)),))
    bridge = lay_bridge(account)
    picture = steps_svg(bridge, WORDS, frame=PAPER, most=3)
    assert "<script" not in picture
    ET.fromstring(picture)  # noqa: S314 - our own text


def test_a_reading_stands_where_its_number_is():
    finding = FINDINGS[0]
    rule = rule_of(finding)
    # By hand: readings 29 to 30.5 and the limit 32 span 3 psi; 0.4 of that on each side is 27.8 to 33.2 psi.
    places = {reading.place: reading.at for reading in rule.readings}
    assert places["LF"] == pytest.approx((29.5 - 27.8) / 5.4)
    assert places["RR"] == pytest.approx((30.0 - 27.8) / 5.4)
    assert rule.limit == pytest.approx((32.0 - 27.8) / 5.4)
    assert rule.outside == (0.0, rule.limit)
    assert [reading.place for reading in rule.readings if reading.rear] == ["LR", "RR"]


def test_readings_in_another_unit_come_to_the_unit_of_the_limit():
    finding = replace(FINDINGS[1], value=("71 degC",), limit="180 degF")
    rule = rule_of(finding)
    # 71 degC x 9/5 + 32 = 159.8 degF.
    assert rule.scale.low + rule.readings[0].at * (rule.scale.high - rule.scale.low) == pytest.approx(159.8)


def test_what_lies_inside_is_hatched_on_the_far_side():
    rule = rule_of(replace(FINDINGS[1], value=("190 degF",), outside_by=None))
    assert rule.outside == (0.0, rule.limit)


def test_the_style_sheet_alone_recolors():
    sheet = picture_css()
    for kind in kind_looks():
        assert f"var(--{kind_id(kind)})" in sheet
    assert "var(--k-brakes)" in sheet
    assert "#" not in sheet
    for ground in ("bright", "dim", "print"):
        for value in colors(ground).values():
            assert value in color_css()
    assert "var(" not in picture_css("print")


def test_seven_kinds_have_seven_patterns_and_colors():
    looks = kind_looks().values()
    assert len({(look.path, look.circles) for look in looks}) == 7
    assert len({look.bright for look in looks}) == len({look.dim for look in looks}) == 7


def test_time_lies_on_the_rule():
    strip = lay_time(TWO_FAULT.plan, CASE.visit)
    # By hand: the strip runs from 1:45 pm (five minutes before now) to 5:25 pm (15 after 5:10): 220 minutes.
    assert strip.promised == pytest.approx(195 / 220)
    assert strip.now == pytest.approx(5 / 220)
    assert strip.likely == pytest.approx((160 / 220, 205 / 220))
    assert [tick.number for tick in strip.ticks if tick.number] == ["2", "3", "4", "5"]
    assert [stretch.lane for stretch in strip.stretches] == ["hands", "hands", "hands", "wait", "hands", "free"]


@pytest.mark.parametrize(
    ("value", "written"), [(0.0, "0"), (-0.001, "0"), (12.345, "12.35"), (-3.5, "-3.5"), (100.0, "100")]
)
def test_coordinates(value, written):
    assert number(value) == written
