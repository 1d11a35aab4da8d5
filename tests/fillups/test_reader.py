"""The fill-up reader: every trap by its rule, and the same log in every form. Expected values are by hand."""

import json
from datetime import date, timedelta
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from lostgallon.readers.fills import read_fills, read_fills_text
from lostgallon.shop.filled import FillHints
from lostgallon.shop.trouble import BadFile

DATA = Path(__file__).parents[3] / "shared" / "data"
KM_PER_MI = 1.609344  # NIST SP 811, exact
L_PER_GAL = 3.785411784  # NIST SP 811, exact
USUAL = [(300.0, 15.0), (310.0, 15.5), (290.0, 14.4), (305.0, 15.4), (298.0, 14.8), (302.0, 15.2)]


def log_text(rows, heading="date,distance_mi,volume_gal", start=date(2025, 1, 3), step=9):
    lines = [heading]
    for index, row in enumerate(rows):
        lines.append(",".join([str(start + timedelta(days=step * index)), *map(str, row)]))
    return "\n".join(lines)


def reasons(log):
    return {each.line: each.why for each in log.rejected}


def rules(log):
    return {each.line: each.rule for each in log.repaired}


def test_miles_and_gallons_become_kilometers_and_liters():
    log = read_fills_text(log_text(USUAL))
    assert log.tanks[0].distance_km == pytest.approx(300.0 * KM_PER_MI, rel=1e-12)
    assert log.tanks[0].volume_l == pytest.approx(15.0 * L_PER_GAL, rel=1e-12)
    assert [tank.days for tank in log.tanks[1:]] == [9.0] * 5


def test_a_first_row_without_distance_starts_the_chain_and_gives_no_tank():
    log = read_fills_text("date,odometer_mi,volume_gal\n2025-01-01,1000,15\n2025-01-10,1300,15.2\n2025-01-20,1610,15.4")
    assert [round(tank.distance_km / KM_PER_MI) for tank in log.tanks] == [300, 310]
    assert all(tank.chained for tank in log.tanks)
    assert "starts the chain" in rules(log)[2]


def test_a_missing_distance_is_the_odometer_difference_where_both_ends_exist():
    text = (
        "date,odometer_mi,distance_mi,volume_gal\n2025-01-01,1000,300,15\n2025-01-10,1310,,15.2\n2025-01-20,1610,300,15"
    )
    assert [round(t.distance_km / KM_PER_MI) for t in read_fills_text(text).tanks] == [300, 310, 300]


def test_a_dropped_row_breaks_the_chain_and_still_ends_a_tank():
    log = read_fills_text(log_text([*USUAL[:3], (301, ""), *USUAL[3:]]))
    assert reasons(log) == {5: "no volume"}
    assert [tank.chained for tank in log.tanks] == [False, True, True, False, True, True]
    assert log.tanks[3].days == 9.0


@pytest.mark.parametrize("share", [0.2, 0.45, 0.55])
def test_a_missed_fill_is_dropped_and_never_halved(share):
    log = read_fills_text(log_text([*USUAL, (300 / share, 15.0), *USUAL]))
    assert list(reasons(log)) == [8]
    assert len(log.tanks) == 12
    assert not log.tanks[6].chained


def test_an_over_count_is_dropped():
    log = read_fills_text(log_text([*USUAL, (300, 30.2), *USUAL]))
    assert "two fills" in reasons(log)[8]


def test_opposite_neighbors_that_cancel_are_pooled():
    # 300 mi on 9 gal, then 300 mi on 21 gal: together 600 mi on 30 gal, 20 mpg like the rest
    log = read_fills_text(log_text([*USUAL, (300, 9.0), (300, 21.0), *USUAL]))
    pooled = next(tank for tank in log.tanks if tank.line == 9)
    assert pooled.volume_l == pytest.approx(30.0 * L_PER_GAL)
    assert pooled.distance_km == pytest.approx(600.0 * KM_PER_MI)
    assert pooled.days == 18.0
    assert "pooled" in rules(log)[9]
    assert not log.rejected


@pytest.mark.parametrize(
    ("heading", "cell"),
    [("full", "no"), ("partial", "yes"), ("to_first_click", "false"), ("note", "only a partial"), ("note", "not full")],
)
def test_a_partial_fill_is_carried_to_the_next_full_one(heading, cell):
    rows = [(300, 15.0, ""), (120, 6.0, cell), (180, 9.2, ""), (305, 15.1, "")]
    log = read_fills_text(log_text(rows, heading=f"date,distance_mi,volume_gal,{heading}"))
    assert [round(tank.volume_l / L_PER_GAL, 6) for tank in log.tanks] == [15.0, 15.2, 15.1]
    assert log.tanks[1].distance_km == pytest.approx(300 * KM_PER_MI)
    assert log.tanks[1].days == 18.0
    assert "carried" in rules(log)[3]


def test_a_partial_fill_without_a_full_one_after_it_waits():
    log = read_fills_text(log_text([(300, 15, ""), (120, 6, "no")], heading="date,distance_mi,volume_gal,full"))
    assert "no full one after it" in reasons(log)[3]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ((300, 15.0 * 3.785), "liters written among gallons"),
        ((300, 150.0), "decimal sign one place to the right"),
        ((300, 1.5), "decimal sign one place to the left"),
        ((300, 15000.0), "decimal sign that was lost"),
        ((300 * 1.70, 15.0), "kilometers written among miles"),
        ((30.0, 15.0), "decimal sign one place to the left"),
    ],
)
def test_a_slip_is_proposed_and_out_until_confirmed(row, words):
    text = log_text([*USUAL, row, *USUAL])
    log = read_fills_text(text)
    assert words in reasons(log)[8]
    assert "--confirm 8" in reasons(log)[8]
    mended = read_fills_text(text, hints=FillHints(confirmed=(8,)))
    assert not mended.rejected
    assert "as confirmed" in rules(mended)[8]
    mpg = [tank.distance_km / KM_PER_MI / (tank.volume_l / L_PER_GAL) for tank in mended.tanks]
    assert all(17.0 < each < 23.0 for each in mpg)


def test_reentered_duplicates_are_dropped_the_later_one():
    rows = [*USUAL[:4], USUAL[1], *USUAL[4:]]
    log = read_fills_text(log_text(rows))
    assert reasons(log) == {6: "the fill of line 3 again"}


def test_the_same_file_twice_changes_nothing():
    text = log_text(USUAL)
    once, twice = read_fills_text(text), read_fills_text(f"{text}\n{text}")
    assert [(t.filled_on, t.volume_l, t.chained, t.days) for t in twice.tanks] == [
        (t.filled_on, t.volume_l, t.chained, t.days) for t in once.tanks
    ]
    assert len(twice.rejected) == len(USUAL) + 1


def test_an_odometer_digit_slip_is_trusted_by_distance():
    rows = [(1000, 300, 15), (1310, 310, 15.4), (1510, 300, 15.1), (1910, 300, 15.0), (2210, 300, 15.2)]
    log = read_fills_text(log_text(rows, heading="date,odometer_mi,distance_mi,volume_gal"))
    assert len(log.tanks) == 5
    assert "slip of a digit" in rules(log)[4]
    assert all(tank.chained for tank in log.tanks[1:])


def test_a_lone_odometer_jump_is_a_missing_row_and_breaks_the_chain():
    rows = [(1000, 300, 15), (1310, 310, 15.4), (1910, 300, 15.1), (2210, 300, 15.0)]
    log = read_fills_text(log_text(rows, heading="date,odometer_mi,distance_mi,volume_gal"))
    assert [tank.chained for tank in log.tanks] == [False, True, False, True]


def test_an_odometer_out_of_line_without_distances_pools_two_fills():
    rows = [(1000, 15), (1300, 15), (16000, 15.1), (1900, 15.3), (2200, 15.0)]
    log = read_fills_text(log_text(rows, heading="date,odometer_mi,volume_gal"))
    assert [round(tank.distance_km / KM_PER_MI) for tank in log.tanks] == [300, 600, 300]
    assert log.tanks[1].volume_l == pytest.approx(30.4 * L_PER_GAL)


def test_rows_without_a_date_are_left_out_and_break():
    text = "date,distance_mi,volume_gal\n2025-01-01,300,15\n,310,15.5\n2025-01-20,290,14.5"
    log = read_fills_text(text)
    assert reasons(log) == {3: "no date that can be read"}
    assert [tank.chained for tank in log.tanks] == [False, False]


def test_rows_out_of_order_are_sorted_and_said():
    text = "date,distance_mi,volume_gal\n2025-01-01,300,15\n2025-01-20,290,14.5\n2025-01-10,310,15.5\n2025-02-01,301,15"
    log = read_fills_text(text)
    assert [tank.filled_on.day for tank in log.tanks] == [1, 10, 20, 1]
    assert "sorted" in rules(log)[4]


def test_newest_first_is_turned_round_and_the_days_keep_file_order():
    text = "date,distance_mi,volume_gal\n2025-02-01,303,15\n2025-01-20,302,14.5\n2025-01-20,301,15.5\n2025-01-01,300,15"
    assert [round(t.distance_km / KM_PER_MI) for t in read_fills_text(text).tanks] == [300, 301, 302, 303]


def test_a_date_years_from_its_neighbors_is_no_date():
    log = read_fills_text(log_text(USUAL).replace("2025-01-21", "2052-01-21"))
    assert "years from its neighbors" in reasons(log)[4]
    assert len(log.tanks) == 5
    assert log.tanks[-1].filled_on.year == 2025


def test_estimated_figures_are_kept_and_flagged():
    log = read_fills_text(log_text([*USUAL[:3], ("~300", 15.1), *USUAL[3:]]))
    assert [tank.reconstructed for tank in log.tanks] == [False] * 3 + [True] + [False] * 3


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("date;km;liters\n03.01.2025;483,5;42,10\n14.01.2025;499,0;43,77\n25.01.2025;480,2;41,9", date(2025, 1, 3)),
        ("date\tkm\tliters\n3-1-2025\t483.5\t42.1\n14-1-2025\t499\t43.77\n25-1-2025\t480.2\t41.9", date(2025, 1, 3)),
        ("fecha;distancia km;litros\n2025-01-03;483,5;42,10\n2025-01-14;499,0;43,77\n2025-01-25;480,2;41,9",
         date(2025, 1, 3)),
        ("03/01/2025  483.5 km  42.10 L\n14/01/2025  499.0 km  43.77 L\n25/01/2025  480.2 km  41.90 L",
         date(2025, 1, 3)),
        ("250103 483.5 km 42.10 L\n250114 499.0 km 43.77 L\n250125 480.2 km 41.90 L", date(2025, 1, 3)),
        ("date,km,liters\nJan-3-25,483.5,42.10\nJan-14-25,499.0,43.77\nJan-25-25,480.2,41.90", date(2025, 1, 3)),
        ("date,km,liters\n01-03-25,483.5,42.10\n01-14-25,499.0,43.77\n01-25-25,480.2,41.90", date(2025, 1, 3)),
        (("# my fills\ndate,km,liters\nFri 2025-01-03,483.5,42.10\nTue 2025-01-14,499.0,43.77,late\n"
         "Sat 2025-01-25,480.2,41.90"), date(2025, 1, 3)),
        (('{"date": "2025-01-03", "distance_km": 483.5, "volume_L": 42.1}\n'
         '{"date": "2025-01-14", "distance_km": 499.0, "volume_L": 43.77}\n'
         '{"date": "2025-01-25", "distance_km": 480.2, "volume_L": 41.9}'), date(2025, 1, 3)),
    ],
)  # fmt: skip
def test_one_log_in_every_form_reads_the_same(text, first):
    log = read_fills_text(text)
    assert [tank.distance_km for tank in log.tanks] == [483.5, 499.0, 480.2]
    assert [tank.volume_l for tank in log.tanks] == [42.1, 43.77, 41.9]
    assert log.tanks[0].filled_on == first


def test_liters_among_gallons_are_read_as_their_cell_says():
    log = read_fills_text(log_text([*USUAL, (300, "57.0 L"), *USUAL]))
    assert log.tanks[6].volume_l == 57.0
    assert "as its cell says" in rules(log)[8]


def test_the_form_of_the_case_file_takes_units_from_its_cells_or_from_the_case():
    text = "date,odometer,volume,to_first_click,ambient\n2026-01-03,131000,15,yes,25 degF\n2026-01-12,131300,15.2,yes,14 degF"
    log = read_fills_text(text, hints=FillHints(distance_unit="mi", volume_unit="gal", told_by="as in the case"))
    assert log.tanks[0].ambient_c == pytest.approx(-10.0)
    assert "as in the case" in next(each.why for each in log.columns if each.taken_as == "volume")
    cells = text.replace("131000", "131000 mi").replace("131300", "131300 mi").replace("15,", "15 gal,")
    assert read_fills_text(cells.replace("15.2", "15.2 gal")).tanks == log.tanks


def test_thousands_and_decimal_commas_are_told_apart_by_the_whole_column():
    text = (
        'date,odometer_mi,volume_gal\n2025-01-01,"131,000",14.1\n2025-01-09,"131,290",14.2\n2025-01-20,"131,585",14.4'
    )
    assert [round(t.distance_km / KM_PER_MI) for t in read_fills_text(text).tanks] == [290, 295]
    german = "date;odometer_km;volume_L\n2025-01-01;131.000;44,1\n2025-01-09;131.480;44,2\n2025-01-20;131.985;44,4"
    assert [round(t.distance_km) for t in read_fills_text(german).tanks] == [480, 505]


def test_a_spreadsheet_reads_like_its_text(tmp_path):
    # written here byte by byte with the standard library: the two formats are zipped XML (ECMA-376, ISO/IEC 26300)
    from tests.fillups.sheets import write_ods, write_xlsx  # noqa: PLC0415

    table = [["date", "distance_mi", "volume_gal"], ["2025-01-03", 300.0, 15.0], ["2025-01-12", 310.0, 15.5]]
    for name, write in (("log.xlsx", write_xlsx), ("log.ods", write_ods)):
        write(tmp_path / name, table)
        log = read_fills(tmp_path / name)
        assert [round(tank.volume_l / L_PER_GAL, 9) for tank in log.tanks] == [15.0, 15.5]


fills = st.lists(
    st.tuples(st.integers(1, 30), st.integers(1500, 7000), st.integers(8000, 20000)), min_size=1, max_size=25
)


@given(fills, st.sampled_from([",", ";", "\t", "json"]))
@settings(max_examples=60, deadline=None)
def test_every_row_is_a_tank_a_start_or_listed(rows, form):
    day = date(2024, 1, 1)
    lines = []
    for days, distance, volume in rows:
        day += timedelta(days=days)
        lines.append((str(day), distance / 10, volume / 1000))
    keys = ("date", "distance_mi", "volume_gal")
    if form == "json":
        text = "\n".join(json.dumps(dict(zip(keys, line, strict=True))) for line in lines)
    else:
        text = "\n".join(form.join(map(str, line)) for line in (keys, *lines))
    log = read_fills_text(text)
    pooled = sum("pooled with line" in each.rule for each in log.repaired)
    assert log.rows == len(rows)
    assert len(log.tanks) + len(log.rejected) + pooled == len(rows)
    used = {tank.line for tank in log.tanks}
    assert used.isdisjoint(reasons(log))


@given(st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_text_reads_or_is_refused_in_one_line(text):
    from lostgallon.shop.trouble import BadFile  # noqa: PLC0415

    said = ""
    try:
        read_fills_text(text)
    except BadFile as trouble:
        said = str(trouble)
    assert "\n" not in said
    assert not said or "expected" in said


needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the open logs are not on this machine (../shared/data)")


@needs_data
def test_the_open_van_log_lists_what_it_leaves_out():
    log = read_fills(DATA / "tanks-van-2012-2025.csv")
    listed = reasons(log)
    assert log.rows == 726
    # read by eye in the file: rows without volume or distance, the same row twice, liters abroad
    assert {95, 126, 127, 128} <= set(listed)
    assert all("again" in listed[line] for line in (415, 417, 420, 421, 428, 430, 436, 437, 438, 443, 449, 450))
    assert "liters" in listed[606]
    assert len(listed) < 0.1 * log.rows


@needs_data
def test_the_open_sedan_log_drops_its_duplicate_and_trusts_distances():
    log = read_fills(DATA / "tanks-sedan-2013-2026.csv")
    assert reasons(log) == {183: "the fill of line 182 again"}
    assert set(rules(log)) == {132, 231}
    assert len(log.tanks) == 235


def test_a_person_says_which_column_is_what():
    # "odometer mi" is a known heading, but a clock that was changed; "A" is no heading this program reads
    rows = "\n".join(
        f"2025-01-{1 + nth:02d},{7 * nth},{300 + nth},{1000 + 301 * nth},{12 + nth % 2}" for nth in range(9)
    )
    text = "date,odometer mi,A,total mi,gallons\n" + rows
    told = read_fills_text(
        text, hints=FillHints(columns=(("odometer", "total mi"), ("distance", "A")), distance_unit="mi")
    )
    assert told.tanks[0].distance_km == pytest.approx(300 * 1.609344)
    assert next(each for each in told.columns if each.taken_as == "odometer").why == "as told"
    bare = read_fills_text(
        rows,
        hints=FillHints(
            columns=(("odometer", "column 4"), ("volume", "column 5")), distance_unit="mi", volume_unit="gal"
        ),
    )
    assert bare.tanks[-1].volume_l == pytest.approx(12 * 3.785411784)
    with pytest.raises(BadFile, match="no column 'B'"):
        read_fills_text(text, hints=FillHints(columns=(("volume", "B"),)))


@pytest.mark.parametrize(
    ("heading", "role", "unit"),
    [
        ("when,miles since last,gallons,mpg", "distance", "mi"),
        ("when,Kilometer seit Tanken,liters,L per 100 km", "distance", "km"),
        ("when,distance_mi,gallons pumped,price per gallon", "volume", "gal"),
    ],
)
def test_an_unknown_heading_that_names_its_unit_is_taken_by_it(heading, role, unit):
    rows = [(distance, volume, 20.0) for distance, volume in USUAL]
    log = read_fills_text(log_text(rows, heading=heading))
    taken = {each.taken_as: each for each in log.columns}
    assert (taken[role].unit, taken["not used"].heading) == (unit, heading.split(",")[3])
    assert "the heading names" in taken[role].why
    assert len(log.tanks) == len(USUAL)


def test_two_headings_that_name_a_distance_are_asked_about():
    with pytest.raises(BadFile, match="odometer or distance"):
        read_fills_text(log_text([(300, 20, 15.0)] * 6, heading="when,miles on highway,miles in town,gallons"))
