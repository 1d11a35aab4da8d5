"""Coasting marked by hand in a visit's recorded drive: kept, read again the same, and refused where it can't be read."""

from dataclasses import replace
from html import unescape

import numpy as np
import pytest

from lostgallon.job.drive import Asked, drive, drive_of_case, require_coasts, subject_from
from lostgallon.paper.drive_svg import drive_pictures
from lostgallon.paper.svg import Frame
from lostgallon.paper.words import words_in
from lostgallon.readers.case import read_case
from lostgallon.shop.driven import CoastDown, DriveTold
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Spread
from lostgallon.shop.trouble import OutOfRange
from lostgallon.web.guard import LARGEST_BODY
from lostgallon.web.reading import require_readable
from tests.cli.test_drive import CASE
from tests.paper import cast

DRIVEN = """
[evidence]
drive_log = "road.csv"
coasts = ["1:00-1:30", "160-190"]"""
MARKED = "1:00-1:30, 2:40-3:10"


def coasting_log(*, wiggle=0.0):
    """Two coast-downs without an engine speed, so that nothing but a mark can tell them from braking.

    m dv/dt = -(F0 + F2 v2) with 1450 kg, 190 N and 0.42 N s2/m2 by Euler steps of a tenth of a second: 27 m/s falls to
    about 20 m/s in 30 s.
    """
    speeds = [27.0 + wiggle] * 600
    for _ in range(2):
        now = 27.0
        for _ in range(300):
            now -= 0.1 * (190.0 + 0.42 * now**2) / 1450.0
            speeds.append(now)
        speeds += list(np.linspace(now, 27.0, 200)) + [27.0] * 500
    rows = (f"{at / 10:.1f},{3.6 * speed:.2f}" for at, speed in enumerate(speeds))
    return "\n".join(["Time (s),Vehicle speed (km/h)", *rows]).encode()


def _sent(shop, visit, content):
    files = {"file": ("road.csv", content, "text/csv")}
    answer = shop.post(f"/visit/{visit}/evidence", {"evidence": "drive_log"}, files=files)
    assert answer.status_code == 303, answer.text
    return shop.desk.sheet(visit).standing["evidence.drive_log"].value["sha256"]


def _case(shop, visit):
    return shop.desk.sheet(visit).case


def test_what_is_marked_is_kept_and_reread_the_same(shop, visit):
    _sent(shop, visit, coasting_log())
    assert drive_of_case(_case(shop, visit)).coast_downs == ()
    answer = shop.post(f"/visit/{visit}/coasts", {"coasts": MARKED})
    assert answer.status_code == 303, answer.text
    case = _case(shop, visit)
    assert case.evidence.coasts == ((60.0, 90.0), (160.0, 190.0))
    found = drive_of_case(case).coast_downs
    assert found[0].stretches == 2
    assert drive_of_case(_case(shop, visit)).coast_downs == found
    # F0 + F2 v2 at 70 km/h: 190 + 0.42 x 19.44^2 = 349 N, less what a sound one of its kind needs, in cold thick air.
    load = subject_from(case).road_load.force_n(70.0 / 3.6)
    assert found[0].extra_drag_n.p50 == pytest.approx(349.0 - load, abs=40.0)
    assert "Coasting marked by hand: 1:00-1:30, 2:40-3:10" in shop.get(f"/visit/{visit}").text.replace("\xa0", " ")


def test_a_mark_belongs_to_its_log_and_can_be_taken_back(shop, visit):
    _sent(shop, visit, coasting_log())
    shop.post(f"/visit/{visit}/coasts", {"coasts": MARKED})
    _sent(shop, visit, coasting_log(wiggle=0.5))
    assert _case(shop, visit).evidence.coasts == ()
    assert _case(shop, visit).evidence.drive_log is not None
    shop.post(f"/visit/{visit}/coasts", {"coasts": "60-90"})
    assert _case(shop, visit).evidence.coasts == ((60.0, 90.0),)
    shop.post(f"/visit/{visit}/undo/{shop.desk.sheet(visit).standing['evidence.coasts'].id}")
    assert _case(shop, visit).evidence.coasts == ()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "nothing marked"),
        ("soon", "soon"),
        ("13:05-12:30", "13:05-12:30"),
        ("0:10-0:40", "readings that fall by 0 km/h"),
        ("50:00-51:00", "0 readings"),
        ("-5-10", "-5-10"),
        ("nan-nan", "nan"),
    ],
)
def test_what_can_not_be_read_is_one_line(shop, visit, typed, said):
    _sent(shop, visit, coasting_log())
    answer = shop.post(f"/visit/{visit}/coasts", {"coasts": typed})
    assert answer.status_code == 422
    assert said in answer.text.replace("\xa0", " ")
    assert "evidence.coasts" not in shop.desk.sheet(visit).standing


def test_without_a_log_there_is_nothing_to_mark(shop, visit):
    answer = shop.post(f"/visit/{visit}/coasts", {"coasts": MARKED})
    assert answer.status_code == 422
    assert "no recorded drive" in answer.text


def test_the_command_and_the_case_file_read_the_same(tmp_path):
    log, file = tmp_path / "road.csv", tmp_path / "case.toml"
    log.write_bytes(coasting_log())
    file.write_text(CASE + DRIVEN, "utf-8")
    case = read_case(file)
    by_hand = drive(Asked(log, file, coasts=case.evidence.coasts))
    assert by_hand.coast_downs
    assert drive_of_case(case) == by_hand
    require_coasts(log, ((60.0, 90.0),))
    with pytest.raises(OutOfRange, match="coasting marked 0:10-0:40"):
        require_coasts(log, ((10.0, 40.0),))


def test_the_page_shows_where_to_mark_with_the_caution(new_shop):
    curve = ((50.0, 300.0), (90.0, 450.0))
    coast = CoastDown(190.0, 0.03, Spread(0.01, 0.009, 0.01, 0.011), "drag", curve=curve, expected=curve)
    open_ = NotEnough("drag", "drag can't be told from none", "read the drag with a spring scale at each wheel")
    speed = ((0.0, 0.0), (5.0, 97.0))
    told = DriveTold("road.csv", "0", "a drive", coast_downs=(coast,), speed_over_time=speed, not_enough=(open_,))
    shop = new_shop(account=replace(cast.TWO_FAULT, drive=told))
    visit = shop.visit()
    assert 'action="/visit/' + visit + '/coasts"' not in shop.get(f"/visit/{visit}").text
    _sent(shop, visit, coasting_log())
    page = shop.get(f"/visit/{visit}").text
    assert 'action="/visit/' + visit + '/coasts"' in page
    assert page.count("Coasting in neutral on a public road may be unlawful") == 2
    assert "Drag can't be told from none." in unescape(page)
    assert "Read the drag with a spring scale at each wheel." in page
    # The owner's letter says what can't be told, not what the technician would have to give.
    letter = drive_pictures(told, words_in("en"), frame=Frame(width_px=500.0))[0]
    assert "can't be told from none" in letter.says
    assert "spring scale at each wheel" not in letter.says


def test_the_unit_of_speed_is_asked_once_and_kept(shop, visit):
    # Speeds that are neither whole km/h nor beyond any mph leave the unit open.
    speedy = [f"{at},{30.3 + at % 9},190" for at in range(200)]
    content = "\n".join(["Time (s),Speed,Coolant (degF)", *speedy]).encode()
    path, told = f"/visit/{visit}/evidence", {"evidence": "drive_log"}
    answer = shop.post(path, told, files={"file": ("x.csv", content, "text/csv")})
    assert answer.status_code == 422
    assert "without a unit" in answer.text
    assert "mi/h" in answer.text
    answer = shop.post(path, {**told, "speed": "mi/h"}, files={"file": ("x.csv", content, "text/csv")}, key="again")
    assert answer.status_code == 303, answer.text
    case = _case(shop, visit)
    assert case.evidence.drive_speed == "mi/h"
    # 34.3 mi/h on average for 199 s = 3.051 km
    assert drive_of_case(case).distance_km == pytest.approx(34.3 * 1.609344 * 199 / 3600, rel=0.01)
    _sent(shop, visit, coasting_log())
    assert _case(shop, visit).evidence.drive_speed is None


def test_the_longest_drive_that_can_be_sent_is_read_within_the_limits():
    line = ",".join(["36.123"] * 29)
    rows = (LARGEST_BODY - 2**16) // (len(line) + 10)
    names = [f"Reading {at}" for at in range(28)]
    body = "".join(f"{at / 10:.1f},{line}\n" for at in range(rows))
    content = f"Time (s),Vehicle speed (km/h),{','.join(names)}\n{body}".encode()
    assert 0.95 * LARGEST_BODY < len(content) < LARGEST_BODY
    require_readable(content, kind="drive_log", suffix=".csv", name="long.csv")
