"""The case file: everything of docs/case-file.md is read; everything else gets one clear line."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lostgallon.readers.case import read_case
from lostgallon.shop.case_keys import KEYS
from lostgallon.shop.trouble import Trouble

ROOT = Path(__file__).parents[2]
GUIDE = ROOT / "docs" / "case-file.md"
CASES = [path for path in (ROOT / "src/lostgallon/data/demo").glob("*.toml") if path.name != "shop.toml"]


def complete_example():
    return re.search(r"```toml\n(.*?)```", GUIDE.read_text("utf-8"), re.DOTALL).group(1)


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "case.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    return write


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_case_in_the_project_is_read(path):
    assert read_case(path).name == path.stem


def test_the_complete_example_is_read_to_the_last_key(written):
    case = read_case(written(complete_example()))
    assert case.vehicle.curb_weight_kg == pytest.approx(3650 * 0.45359237)
    assert case.vehicle.tire_placard_pa == pytest.approx(33 * 6894.757293168)
    assert case.evidence.coasts == ((750.0, 785.0),)
    assert case.then.ambient_c == pytest.approx((72 - 32) * 5 / 9)
    assert case.then.basis == "owner's memory"
    assert case.use.warm_up_idle_s == 240
    assert case.booked.looking_minutes == 25
    assert case.booked.looking_money == 60
    assert case.states[0].opened == ("lifted",)
    assert [value.typed for value in case.findings[1].value] == ["0.053 in", "0.050 in"]
    assert case.findings[1].limit.typed == "0.043 in"
    assert case.findings[4].before_good_days
    assert case.findings[5].codes == ("P0128",)
    assert case.shop.currency == "USD"
    assert [(step.minutes, step.done) for step in case.booked.steps] == [(8, True), (12, False)]
    assert (case.agreed[0].operation, case.agreed[0].amount_money) == ("thermostat_replace", 80)
    assert [(work.operation, work.at.hour) for work in case.work_done] == [("thermostat_replace", 15)]
    assert (case.shop.hands, case.shop.parts_tax_share, case.shop.labor_tax_share) == (1, 0.0825, 0.0)
    assert (case.shop.fee_share_of_labor, case.shop.fee_ceiling_money) == (0.05, 35)


def test_a_road_load_as_certified_in_either_system(written):
    # 1 lbf = 4.4482216 N, 1 mph = 0.44704 m/s: 30 lbf = 133.447 N; 0.2 lbf/mph = 1.99008 N s/m; 0.02 = 0.445168 N s2/m2
    for told in (
        "{ a_lbf = 30, b_lbf_per_mph = 0.2, c_lbf_per_mph2 = 0.02 }",
        "{ f0_n = 133.447, f1_n_per_kmh = 0.5528, f2_n_per_kmh2 = 0.0343494 }",
    ):
        text = complete_example().replace('elevation = "300 m"', f"road_load = {told}")
        read = read_case(written(text)).vehicle.certified
        assert (read.f0_n, read.f1_n_s_m) == (pytest.approx(133.447, rel=1e-5), pytest.approx(1.99008, rel=1e-4))
        assert read.f2_n_s2_m2 == pytest.approx(0.445168, rel=1e-5)


def test_a_gauge_that_reads_high_is_taken_off_every_value(written):
    case = read_case(written(complete_example()))
    # 27 - 1.5 psi; one psi is 6894.757293168 Pa (NIST SP 811).
    first = case.findings[0]
    assert first.as_read == ("27 psi", "26 psi", "28 psi", "27 psi")
    assert [value.typed for value in first.value] == ["25.5 psi", "24.5 psi", "26.5 psi", "25.5 psi"]
    assert first.value[0].number == pytest.approx(25.5 * 6894.757293168)


def test_a_gauge_told_in_another_unit_and_a_thermometer_told_in_kelvin(written):
    text = complete_example().replace('reads_high = "1.5 psi"', 'reads_high = "-0.1 bar"')
    # 27 psi = 1.8616 bar; 1.9616 bar = 28.45 psi.
    assert read_case(written(text)).findings[0].value[0].typed == "28.45 psi"
    hot = (
        complete_example()
        .replace('reads_high = "1.5 psi"', 'reads_high = "2 K"')
        .replace('value = ["27 psi", "26 psi", "28 psi", "27 psi"]', 'value = "185 degF"')
    )
    # Two kelvin are 3.6 degrees Fahrenheit.
    assert read_case(written(hot)).findings[0].value[0].typed == "181.4 degF"


def test_the_guide_names_every_key():
    guide = GUIDE.read_text("utf-8")
    for section, keys in KEYS.items():
        assert f"[{section}]" in guide
        for key in keys:
            assert re.search(rf"\b{key}\b", guide), f"[{section}] {key}"


BROKEN = {
    "a gauge nobody has": ('gauge = "blue tire gauge"', 'gauge = "blue tyre gauge"', "did you mean blue tire gauge?"),
    "a gauge that reads something else": ('"1.5 psi"', '"1.5 mm"', "a gauge that reads 1.5 mm high for 27 psi"),
    "a step without minutes": ("minutes = 8, ", "", "[booked] steps 1: found no minutes"),
    "three pairs of hands": ("hands = 1 ", "hands = 3 ", "[shop] hands: found 3; expected 1 to 2"),
    "consent in another currency": ('amount = "80 USD"', 'amount = "80 EUR"', "[[agreed]] 1 amount: found EUR"),
    "an unknown section": ("[vehicle]", "[vehicel]", "unknown section [vehicel] (did you mean vehicle?)"),
    "an unknown key": ("displacement =", "displacment =", "unknown key displacment (did you mean displacement?)"),
    "a bare number": ('curb_weight = "3650 lb"', "curb_weight = 3650", "found the bare number 3650; expected a mass with its unit"),
    "a missing unit": ('curb_weight = "3650 lb"', 'curb_weight = "3650"', "'3650' without a unit"),
    "a wrong unit": ('curb_weight = "3650 lb"', 'curb_weight = "3650 psi"', "found the unit 'psi'"),
    "an unknown unit": ('curb_weight = "3650 lb"', 'curb_weight = "3650 stone"', "unknown unit 'stone'"),
    "too light": ('curb_weight = "3650 lb"', 'curb_weight = "36 lb"', "(500 to 6000 kg)"),
    "no body": ('body = "wagon"', "", "[vehicle]: found no body"),
    "a wrong body": ('body = "wagon"', 'body = "wagn"', "'wagn' (did you mean wagon?)"),
    "a body that is a number": ('body = "wagon"', "body = 4", "[vehicle] body: found 4"),
    "a diesel": ('propulsion = "gasoline"', 'propulsion = "diesel"', "hybrids, plug-ins, electrics and diesels are not covered"),
    "a hybrid": ('propulsion = "gasoline"', 'propulsion = "hybrid"', "not covered"),
    "no propulsion": ('propulsion = "gasoline"', "", "found no propulsion"),
    "a year as text": ("model_year = 2011", 'model_year = "2011"', "a bare number without quotes"),
    "a year to come": ("model_year = 2011", "model_year = 2031", "expected 1980 to 2027"),
    "a broken year": ("model_year = 2011", "model_year = 2011.5", "expected a whole number"),
    "a true year": ("model_year = 2011", "model_year = true", "a bare number"),
    "no displacement": ('displacement = "2.3 L"', "", "found no displacement"),
    "a displacement in cylinders": ('displacement = "2.3 L"', 'displacement = "4 cyl"', "unknown unit 'cyl'"),
    "no cylinder": ("cylinders = 4", "cylinders = 0", "expected 2 to 16"),
    "many gears": ("gears = 5", "gears = 50", "expected 1 to 12"),
    "a wrong induction": ('induction = "natural"', 'induction = "supercharged"', "expected natural or turbo"),
    "a wrong injection": ('injection = "port"', 'injection = "ported"', "(did you mean port?)"),
    "a wrong drive": ('drive = "2wd"', 'drive = "fwd"', "expected 2wd or 4wd"),
    "a wrong gearbox": ('transmission = "automatic"', 'transmission = "auto"', "(did you mean automatic?)"),
    "a rating of zero": ('rated_city = "20 mpg"', 'rated_city = "0 mpg"', "a fuel economy above zero"),
    "a rating too good": ('rated_city = "20 mpg"', 'rated_city = "300 mpg"', "(2 to 80 L/100km)"),
    "ratings from hearsay": ('ratings_from = "sticker"', 'ratings_from = "hearsay"', "expected sticker or restated"),
    "no odometer": ('odometer = "131000 mi"', "", "found no odometer"),
    "an odometer in liters": ('odometer = "131000 mi"', 'odometer = "131000 L"', "found the unit 'L'"),
    "a placard of 3 psi": ('tire_placard = "33 psi"', 'tire_placard = "3 psi"', "expected 14.5 to 130.5 psi"),
    "a mountain in the sea": ('elevation = "300 m"', 'elevation = "-3000 m"', "(-450 to 5500 m)"),
    "a road load that is a number": ('odometer = "131000 mi"', 'odometer = "131000 mi"\nroad_load = 150', "expected a table with f0_n"),
    "a road load in two systems": (
        'odometer = "131000 mi"',
        'odometer = "131000 mi"\nroad_load = { a_lbf = 30, b_lbf_per_mph = 0.2, f2_n_per_kmh2 = 0.03 }',
        "unknown key f2_n_per_kmh2",
    ),
    "a road load of two terms": ('odometer = "131000 mi"', 'odometer = "131000 mi"\nroad_load = { f0_n = 150, f1_n_per_kmh = 0.5 }', "f2_n_per_kmh2"),
    "a road load of a ship": (
        'odometer = "131000 mi"',
        'odometer = "131000 mi"\nroad_load = { f0_n = 9000, f1_n_per_kmh = 0.5, f2_n_per_kmh2 = 0.03 }',
        "expected 0 to 1500",
    ),
    "coasting backward": ('coasts = ["12:30-13:05"]', 'coasts = ["13:05-12:30"]', "start and end"),
    "coasting of no log": ('drive_log = "drive.csv"', "", "the drive_log that they belong to"),
    "no distance": ('distance_per_year = "11000 mi"', "", "found no distance_per_year"),
    "a trip of nothing": ('trip = "4 mi"', 'trip = "0 mi"', "(0.2 to 1000 km)"),
    "a share in per cent": ("highway_share = 0.15", "highway_share = 15", "expected 0 to 1"),
    "a share as text": ("highway_share = 0.15", 'highway_share = "15 %"', "a bare number without quotes"),
    "a share that is not a number": ("highway_share = 0.15", "highway_share = nan", "expected 0 to 1"),
    "an idle in miles": ('warm_up_idle = "4 min"', 'warm_up_idle = "4 mi"', "found the unit 'mi'"),
    "a price without currency": ('fuel_price = "3.35 USD/gal"', 'fuel_price = "3.35 /gal"', "an amount with its currency"),
    "a price for nothing": ('fuel_price = "3.35 USD/gal"', 'fuel_price = "3.35 USD"', 'like "3.35 USD/gal"'),
    "a price per mile": ('fuel_price = "3.35 USD/gal"', 'fuel_price = "3.35 USD/mi"', 'like "3.35 USD/gal"'),
    "no economy then": ('economy = "23 mpg"', "", "[then]: found no economy"),
    "a bare economy": ('economy = "23 mpg"', "economy = 23", "[then] economy: found the bare number 23"),
    "a basis of hope": ('basis = "owner\'s memory"', 'basis = "hope"', "expected owner's memory, trip display, fill-ups or money spent"),
    "a basis nearly right": ('basis = "trip display"', 'basis = "trip displya"', "(did you mean trip display?)"),
    "a bare temperature": ('ambient = "72 degF"', "ambient = 72", 'like "25 degF"'),
    "a temperature of the sun": ('ambient = "72 degF"', 'ambient = "720 degF"', "expected -67 to 140 degF"),
    "a blend of spring": ('fuel_blend = "summer"', 'fuel_blend = "spring"', "expected summer or winter"),
    "a date in quotes": ("date = 2026-01-15", 'date = "2026-01-15"', "a date without quotes"),
    "a date that is none": ("date = 2026-01-15", "date = 2026-02-30", "a line that is not TOML"),
    "no date": ("date = 2026-01-15\n", "\n", "[visit]: found no date"),
    "a promise in the past": ("promised = 2026-01-15T16:30:00", "promised = 2026-01-15T12:30:00", "a time after now"),
    "a promise in quotes": ("promised = 2026-01-15T16:30:00", 'promised = "half past four"', "a local time without quotes"),
    "a promise with a zone": ("promised = 2026-01-15T16:30:00", "promised = 2026-01-15T16:30:00Z", "with a time zone"),
    "good days to come": ("until = 2025-10-31", "until = 2026-10-31", "a date up to the visit"),
    "minutes as text": ("minutes_left = 60", 'minutes_left = "60 min"', "a bare number without quotes"),
    "negative minutes": ("minutes_left = 60", "minutes_left = -5", "expected 0 to 10000"),
    "looking without end": ("looking = { minutes = 25", "looking = { minuts = 25", "(did you mean minutes?)"),
    "looking in another currency": ('money = "60 USD"', 'money = "60 EUR"', "the currency of [use] fuel_price"),
    "labor in another currency": ('labor_rate = "140 USD/h"', 'labor_rate = "140 EUR/h"', "the currency of [use] fuel_price"),
    "apart as a number": ('apart = ["coolant_drained"]', "apart = 3", "a list of texts"),
    "a state without a time": ("at = 2026-01-15T15:20:00\n", "\n", "[[state]] 1: found no at"),
    "a state with single brackets": ("[[state]]", "[state]", "[[state]] with double brackets"),
    "a finding without a result": ('result = "normal" ', 'place = "all" ', "[[finding]] 3: found no result"),
    "a finding without a check": ('check = "tire_pressure"\n', "\n", "[[finding]] 1: found no check"),
    "a result of maybe": ('result = "normal"', 'result = "maybe"', "expected found, normal, not looked at, skipped or not possible"),
    "a bare reading": ('value = ["27 psi", ', "value = [27, ", "[[finding]] 1 value: found 27"),
    "readings in two kinds": ('value = ["27 psi", ', 'value = ["27 mm", ', "one kind of unit"),
    "a limit of another kind": ('limit = "0.043 in"', 'limit = "43 psi"', "a limit in the unit of '0.053 in'"),
    "a code that is none": ('codes = ["P0128"]', 'codes = ["0128"]', "SAE J2012 codes, like P0128"),
    "before as text": ("before_good_days = true", 'before_good_days = "yes"', "expected true or false"),
    "a horizon of nothing": ("horizon_years = 3", "horizon_years = 0", "expected 0.1 to 30"),
    "a language nobody wrote": ('language = "en"', 'language = "fr"', "expected en or es"),
    "an unclosed quote": ('body = "wagon"', 'body = "wagon', "a line that is not TOML"),
    "a key twice": ("cylinders = 4", "cylinders = 4\ncylinders = 4", "a line that is not TOML"),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_case_gets_one_clear_line(name, written):
    good, bad, sentence = BROKEN[name]
    example = complete_example()
    assert good in example, "the example no longer holds what this case breaks"
    path = written(example.replace(good, bad, 1))
    with pytest.raises(Trouble) as caught:
        read_case(path)
    message = str(caught.value)
    assert sentence in message
    assert "\n" not in message
    assert caught.value.exit_status == 2


@pytest.mark.parametrize("section", ["visit", "vehicle", "use", "then", "now"])
def test_a_missing_section_is_named(section, written):
    text = re.sub(rf"(?ms)^\[{section}\].*?(?=^\[)", "", complete_example())
    with pytest.raises(Trouble, match=rf"found no section \[{section}\]"):
        read_case(written(text))


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"\xff\xfe\x00", "not UTF-8 text"),
        (b"", "no section [visit]"),
        (b"just words", "not TOML"),
        (b"[[vehicle]]", "[visit]"),
    ],
)
def test_a_file_that_is_no_case_gets_one_clear_line(content, sentence, written):
    with pytest.raises(Trouble) as caught:
        read_case(written(content))
    assert sentence in str(caught.value)


def test_a_case_that_is_not_there(tmp_path):
    with pytest.raises(Trouble, match="no such file"):
        read_case(tmp_path / "none.toml")
    with pytest.raises(Trouble, match="expected a readable case file"):
        read_case(tmp_path)


@given(weight=st.integers(1500, 9000), liters=st.floats(0.8, 8), share=st.floats(0, 1), mpg=st.floats(8, 60))
def test_what_is_written_is_read(tmp_path_factory, weight, liters, share, mpg):
    text = complete_example()
    for old, new in (
        ('"3650 lb"', f'"{weight} lb"'), ('"2.3 L"', f'"{liters:.6f} L"'), ("highway_share = 0.15", f"highway_share = {share!r}"),
        ('economy = "23 mpg"', f'economy = "{mpg:.6f} mpg"'),
    ):  # fmt: skip
        text = text.replace(old, new, 1)
    path = tmp_path_factory.mktemp("case") / "case.toml"
    path.write_text(text, "utf-8")
    case = read_case(path)
    assert case.vehicle.curb_weight_kg == pytest.approx(weight * 0.45359237)
    assert case.vehicle.displacement_l == pytest.approx(liters, abs=1e-6)
    assert case.use.highway_share == share
    assert case.then.economy_l_per_100km == pytest.approx(235.2145833 / mpg, rel=1e-5)
