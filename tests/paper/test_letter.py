"""The owner's letter: what is on it, what is never on it, and that nothing is clipped."""

import hashlib
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from lostgallon.paper.letter import letter_content, letter_pdf, write_letter
from lostgallon.paper.sheet import sheet_pdf
from lostgallon.paper.words import words_in
from lostgallon.shop.account import AfterCare
from lostgallon.shop.hand_back import Done, HandBack, LeftUndone, Letterhead, Photo, Shares
from lostgallon.shop.trouble import BadFile
from lostgallon.shop.visit import Agreed
from tests.paper.cast import CASE, CAST, FOURTEEN, NO_LOSS, NOTHING_WRONG, STOPPED, TWO_FAULT, entry, gal
from tests.paper.paper_text import pages_of, reader_of, text_of
from tests.paper.test_drive_svg import DRIVE

ACCOUNTS = pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())
DEFERRAL = "professional’s judgement come before anything in this letter."
ACCENTED = "Señora Ibáñez-Çelik, Łódź; “cuesta más” — ¿por qué? ½ ° ü"

HAND_BACK = HandBack(
    letterhead=Letterhead("A shop on a corner", ("12 Elm Road", "555 0100", "license 1234")),
    vehicle="front-drive hatch",
    owner_said="Since December it drinks.",
    done=(
        Done("Front struts, as booked"),
        Done(
            "New thermostat and seal",
            "On the same road the coolant now reaches 188 °F.",
            charge_money=185.0,
            agreed="by telephone at 2:40 pm",
            operation="thermostat_replace",
        ),
        Done("Tires set", charge_money=0.0, operation="tire_set"),
    ),
    left=(LeftUndone("Winter tires", "Worth it for grip.", "in spring"),),
    shares=Shares(own_words=True),
)


def test_work_the_case_calls_done_is_told_as_done_with_who_agreed():
    first, second = TWO_FAULT.corrections[:2]
    account = replace(TWO_FAULT, corrections=(replace(first, advice="done"), *TWO_FAULT.corrections[1:]))
    yes = Agreed(first.operation, "R. Ashdown", datetime(2026, 1, 15, 14, 5), "in person", 185.0)  # noqa: DTZ001
    text = text_of(letter_pdf(account, replace(CASE, agreed=(yes,))))
    assert "What we did" in text
    assert "Agreed in person, 2026-01-15 14:05, R. Ashdown." in text
    assert second.advice == "today"
    assert text.index("What we left") < text.index(f"{second.name}:")


@ACCOUNTS
@pytest.mark.parametrize("page", ["letter", "a4"])
def test_the_letter_is_one_page_and_an_annex_only_where_it_says_so(account, page):
    pages = pages_of(letter_pdf(account, CASE, page=page))
    assert (len(pages) > 1) == ("the annex has everything in full" in pages[0])
    assert DEFERRAL in pages[0]


@pytest.mark.parametrize(("page", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_paper_sizes(page, size):
    box = reader_of(letter_pdf(TWO_FAULT, CASE, page=page)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_it_is_tagged_titled_and_has_a_language():
    reader = reader_of(letter_pdf(TWO_FAULT, CASE))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert reader.metadata.title == "Where the fuel went"


def test_the_same_input_gives_the_same_bytes():
    made = [letter_pdf(TWO_FAULT, CASE, hand_back=HAND_BACK) for _ in range(3)]
    assert len({hashlib.sha256(pdf).hexdigest() for pdf in made}) == 1
    assert reader_of(made[0]).metadata.creation_date.date() == CASE.visit.date


def test_every_figure_of_the_record_is_on_paper():
    text = text_of(letter_pdf(TWO_FAULT, CASE))
    # Each is a figure of the cast, written in its own unit: gal per 100 mi, mpg = 100 / gal, L = gal x 2.352.
    for said in (
        "3.0 gallons for every 100 miles (33 mpg, 7.1 L per 100 km)",
        "4.1 now (24 mpg, 9.6 L per 100 km)",
        "1.1 gal lost every 100 mi, likely 0.9 to 1.3",
        "A Cold weather 0.35, likely 0.25 to 0.5",
        "B Winter gasoline 0.05, likely 0.03 to 0.08",
        "C Short trips 0.25, likely 0.1 to 0.35",
        "D New or winter tires 0.1, likely 0.05 to 0.2",
        "E Defroster, seat heat 0.03, likely 0.01 to 0.05",
        "F Tires under-inflated 0.02, likely 0.01 to 0.03",
        "G Thermostat stuck open 0.2, likely 0.05 to 0.3, 97% likely there",
        "H Brake drag, front 0.01, likely 0 to 0.06, 31% likely there",
        "Not accounted for 0.1, likely −0.1 to 0.3",
        "3.7 to 4.0 gallons per 100 miles (25 to 27 mpg) in the weather of the coming six weeks",
        "$185 today",
        "Saves 9 gal a year, likely 3 to 15, worth $10 to $50.",
        "9 300 miles a year and $3.35 a gallon",
        "LF 29.5 psi, RF 30.5 psi, LR 29 psi, RR 30 psi. All four low by 1.5 to 3 psi (limit 32 psi, placard).",
        "160 °F. Low by 20 °F (limit 180 °F, service information, cooling chapter).",
    ):
        assert said in text, said


def test_the_plain_sentence_comes_first():
    page = pages_of(letter_pdf(TWO_FAULT, CASE))[0]
    assert page.index("Three quarters of the extra fuel") < page.index("37%")


def test_what_was_not_looked_at_and_left_is_said():
    page = pages_of(letter_pdf(TWO_FAULT, CASE))[0]
    assert "Not looked at: Compression." in page
    assert (
        "Clean and grease front brake slides: Open wheels are not a reason to sell it. When: if the pull test finds drag."
        in page
    )


def test_after_hand_back_it_says_what_was_done_and_agreed():
    page = pages_of(letter_pdf(TWO_FAULT, CASE, hand_back=HAND_BACK))[0]
    assert "A shop on a corner · 12 Elm Road · 555 0100 · license 1234" in page
    assert "You said: “Since December it drinks.”" in page
    assert (
        "New thermostat and seal. On the same road the coolant now reaches 188 °F. $185. Agreed by telephone at 2:40 pm."
        in page
    )
    assert "Tires set. No charge." in page
    assert "What can be corrected today" not in page
    assert "Winter tires: Worth it for grip. When: in spring." in page


def test_what_the_owner_did_not_agree_to_share_is_not_printed(tmp_path):
    photo = tmp_path / "hose.jpg"
    photo.write_bytes(b"\xff\xd8\xff")
    private = replace(HAND_BACK, shares=Shares(prices=False), photos=(Photo(photo, "The owner's driveway"),))
    named = replace(CASE, name="Visit of a private person")
    text = text_of(letter_pdf(replace(TWO_FAULT, case="Visit of a private person"), named, hand_back=private))
    for secret in ("drinks", "driveway", "private person", "$185", "$10"):
        assert secret not in text


def test_nothing_wrong_sells_nothing():
    page = pages_of(letter_pdf(NOTHING_WRONG, CASE))[0]
    assert "nothing to repair" in page
    assert "No work is sold for the sake of fuel" in page
    assert "$" not in page


def test_no_loss_says_so():
    page = pages_of(letter_pdf(NO_LOSS, CASE))[0]
    assert "The vehicle may not use more at all." in page
    assert "A step smaller than 6 % can't be told from scatter." in page


def test_a_stop_comes_before_everything_and_prices_nothing():
    page = pages_of(letter_pdf(STOPPED, CASE))[0]
    assert page.index("Do not drive it") < page.index("What we found")
    assert "Wet fuel at the left frame rail" in page
    assert "Cleared only by a look that finds it safe" in page
    assert "Keep flames, sparks and cigarettes away" in page
    assert "$" not in page


def test_what_an_owner_types_is_text_and_never_code():
    nasty = '#panic("x") *bold* _it_ $x^2$ `raw` <label> @ref \\ // /* #import "x" -- "quoted" http://a.b'
    page = pages_of(letter_pdf(TWO_FAULT, CASE, hand_back=replace(HAND_BACK, owner_said=nasty)))[0]
    assert nasty.replace("  ", " ") in page


def test_accents_print():
    page = pages_of(letter_pdf(TWO_FAULT, CASE, hand_back=replace(HAND_BACK, owner_said=ACCENTED)))[0]
    assert ACCENTED in page


def test_40_findings_12_causes_and_long_texts_move_to_the_annex_whole():
    long = "a very long remark about what was seen under the vehicle, " * 12
    findings = tuple(
        replace(TWO_FAULT.findings[0], name=f"Finding {count}", outside_by=f"{long}end {count}") for count in range(40)
    )
    account = replace(FOURTEEN, entries=FOURTEEN.entries[:12], findings=findings, sentence="")
    hand_back = replace(HAND_BACK, owner_said=f"{long}end of words.")
    pages = pages_of(letter_pdf(account, CASE, hand_back=hand_back))
    annex = " ".join(pages[1:])
    assert "Shortened to one page" in pages[0]
    assert DEFERRAL in pages[0]
    assert "end of words." in annex
    for count in range(40):
        assert f"end {count} (limit 32 psi" in annex
    for row in account.entries:
        assert row.name in annex
    assert all(DEFERRAL in page for page in pages)


def test_zero_causes():
    page = pages_of(letter_pdf(replace(TWO_FAULT, entries=(), not_accounted_for_l_per_100km=gal(0.8, 1.1, 1.4)), CASE))[
        0
    ]
    assert "Not accounted for 1.1, likely 0.8 to 1.4" in page


def test_one_very_long_name_is_not_clipped():
    name = "A cause whose name runs on and on past every margin there is on this sheet of paper"
    account = replace(TWO_FAULT, entries=(entry("x", name, "use", gal(0.1, 0.5, 1.0)),))
    assert name in pages_of(letter_pdf(account, CASE))[0]


def test_photos_stand_in_the_annex_and_a_missing_one_is_said(tmp_path):
    shares = Shares(photos=True)
    hand_back = replace(HAND_BACK, photos=(Photo(tmp_path / "gone.jpg", "Hose, cracked"),), shares=shares)
    pages = pages_of(letter_pdf(TWO_FAULT, CASE, hand_back=hand_back))
    assert "Hose, cracked (the photo can’t be printed)" in pages[1]


def test_a_place_that_can_not_be_written_is_one_clear_line():
    with pytest.raises(BadFile, match="can't be written"):
        write_letter(TWO_FAULT, CASE, Path("/nowhere/at/all/letter.pdf"))


def test_the_file_is_written_whole(tmp_path):
    write_letter(TWO_FAULT, CASE, tmp_path / "letter.pdf")
    assert [file.name for file in tmp_path.iterdir()] == ["letter.pdf"]
    assert (tmp_path / "letter.pdf").read_bytes() == letter_pdf(TWO_FAULT, CASE)


def test_pictures_carry_words_for_those_who_do_not_see_them():
    content = letter_content(TWO_FAULT, CASE, page="letter", hand_back=HAND_BACK)
    assert content["bridge_says"].startswith("A bridge from 3.0 gallons per 100 miles then to 4.1 now.")


def test_causes_left_out_of_the_picture_are_counted_with_their_sum():
    small = tuple(entry(f"s{count}", f"Small {count}", "use", gal(0.0, 0.01, 0.02, mean=0.01)) for count in range(6))
    page = pages_of(letter_pdf(replace(TWO_FAULT, entries=(*TWO_FAULT.entries, *small)), CASE))[0]
    # Seven rows are drawn: seven of the fourteen are not. The six smallest means are 0.01 each, the brake's is
    # (0 + 2 * 0.01 + 0.06) / 4 = 0.02: 0.08 together.
    assert "7 smaller causes are not drawn; together about 0.08 gal per 100 mi." in page


def test_wheel_nuts_and_what_never_to_drive_on_with_stand_in_the_caution():
    care = AfterCare(what="Wheel nuts: torque again", why="a wheel was off", within_km=100.0)
    page = pages_of(letter_pdf(replace(TWO_FAULT, after_care=(care,)), CASE))[0]
    # 100 km / 1.609344 = 62 mi, said as 60 so that it is not too late.
    assert "Caution Wheel nuts: torque again, within 60 mi (a wheel was off)." in page
    assert "If it smells of fuel, a red lamp lights, or the brakes feel different" in page


def test_where_even_the_shortest_form_is_too_long_the_letter_goes_on_and_nothing_is_lost():
    rule = "A rule that must be read whole. " * 120 + "The end of the rule."
    account = replace(TWO_FAULT, proof=replace(TWO_FAULT.proof, rule=rule))
    pages = pages_of(letter_pdf(account, CASE))
    assert " ".join(pages).count("The end of the rule.") == 2
    assert DEFERRAL in pages[1]


def test_the_rule_of_the_proof_is_never_shortened():
    findings = tuple(
        replace(TWO_FAULT.findings[0], name=f"Finding {count}", outside_by="x " * 200) for count in range(9)
    )
    rule = "The first tank does not count. " * 8 + "Above 4.0 we look again."
    account = replace(TWO_FAULT, findings=findings, proof=replace(TWO_FAULT.proof, rule=rule))
    assert "Above 4.0 we look again." in pages_of(letter_pdf(account, CASE))[0]


def test_what_may_still_pay_later_is_not_called_worthless():
    later = tuple(row for row in TWO_FAULT.corrections if row.advice == "later")
    page = pages_of(letter_pdf(replace(TWO_FAULT, corrections=later), CASE))[0]
    assert "Nothing is to be done for the sake of fuel today." in page
    assert "would pay for itself" not in page


@pytest.mark.parametrize(
    "stop_id", ["liquid_fuel", "seized_brake", "brake_fluid", "unsafe_tire", "exhaust_in_cabin", "x"]
)
def test_a_stopped_owner_is_told_what_not_to_do(stop_id):
    stopped = replace(STOPPED, stop=replace(STOPPED.stop, id=stop_id))
    for language in ("en", "es"):
        page = pages_of(letter_pdf(stopped, replace(CASE, shop=replace(CASE.shop, language=language))))[0]
        key = stop_id if stop_id != "x" else "other"
        assert words_in(language)(f"stop_caution.{key}") in page


def test_no_caution_of_a_stop_is_ever_left_out():
    many = tuple(f"Caution number {count}: hands off, eyes covered, nobody under it." for count in range(9))
    repair = replace(STOPPED.corrections[0], cautions=many)
    findings = tuple(
        replace(TWO_FAULT.findings[0], name=f"Finding {count}", outside_by="x " * 200) for count in range(9)
    )
    stopped = replace(STOPPED, corrections=(repair,), findings=findings)
    assert words_in("en")("stop_caution.liquid_fuel") in pages_of(letter_pdf(stopped, CASE))[0]
    sheet = text_of(sheet_pdf(stopped, CASE))
    for caution in many:
        assert caution in sheet


def test_a_recorded_drive_is_drawn_on_the_annex_and_the_page_says_so():
    pages = pages_of(letter_pdf(replace(NOTHING_WRONG, drive=DRIVE), CASE))
    assert "Photos and pictures are on the annex." in pages[0]
    assert "The recorded drive" in pages[1]
    assert "Warm-up: Held at 57 °C." in pages[1]
