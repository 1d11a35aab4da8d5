"""Files of a fleet: columns recognized as in the fill-up reader, traps handled by its rules."""

import polars as pl
import pytest

from lostgallon.fleet.columns import all_recognized, recognized
from lostgallon.fleet.tanks import tanks_of
from lostgallon.shop.filled import FillHints
from lostgallon.shop.units import KM_PER_MILE, L_PER_US_GALLON

NONE = FillHints()


def tanks_from(folder, text, hints=NONE, name="fleet.csv"):
    (folder / name).write_text(text)
    return tanks_of(recognized(folder / name, hints).rows.collect())


def rows(line, count=8):
    return "\n".join(line.format(day=1 + nth, km=1000 + 400 * nth, nth=nth) for nth in range(count))


def test_semicolons_decimal_commas_and_day_first_dates(tmp_path):
    text = "unit;fecha;odometro km;litros\n" + rows("A;{day:02d}/03/2025;{km},0;32,5") + "\nA;31/03/2025;4600,0;65,0"
    found = tanks_from(tmp_path, text)
    assert found.volume_l.tolist() == [32.5] * 7 + [65.0]
    assert found.distance_km[0] == 400.0
    assert (found.end_day[-1] - found.end_day[-2]) == 23


def test_miles_gallons_and_a_title_above_the_heading(tmp_path):
    text = "fleet of the north\n# made by hand\nvehicle,date,odometer_mi,volume_gal\n" + rows(
        "A,2025-01-{day:02d},{km},14"
    )
    found = tanks_from(tmp_path, text)
    assert found.distance_km[0] == pytest.approx(400 * KM_PER_MILE)
    assert found.volume_l[0] == pytest.approx(14 * L_PER_US_GALLON)


def test_a_unit_that_only_the_cells_name(tmp_path):
    found = tanks_from(tmp_path, "vehicle,date,odometer,volume\n" + rows("A,2025-01-{day:02d},{km} km,30 L"))
    assert found.distance_km[0] == 400.0
    assert found.volume_l[0] == 30.0


def test_miles_that_climb_are_an_odometer_though_vehicles_follow_each_other(tmp_path):
    both = rows("A,2025-01-{day:02d},{km},14") + "\n" + rows("B,2025-01-{day:02d},{km},14")
    found = tanks_from(tmp_path, "vehicle,date,miles,gallons\n" + both)
    assert tuple(found.vehicles["vehicle"]) == ("A", "B")
    assert found.distance_km == pytest.approx([400 * KM_PER_MILE] * 14)


def test_a_partial_fill_is_carried_to_the_next_full_one(tmp_path):
    # by hand: 400 km on 30 L that was not full and 400 km on 34 L are one tank of 800 km on 64 L
    text = "vehicle,date,odometer_km,volume_L,partial\n" + "\n".join(
        f"A,2025-01-{1 + nth:02d},{1000 + 400 * nth},{30 if nth == 3 else 34 if nth == 4 else 32},{'yes' if nth == 3 else 'no'}"
        for nth in range(8)
    )
    found = tanks_from(tmp_path, text)
    assert found.distance_km.tolist() == [400, 400, 800, 400, 400, 400]
    assert found.volume_l[2] == 64.0
    assert found.chained.tolist() == [False, True, True, True, True, True]


def test_a_missing_figure_breaks_the_chain_and_a_row_entered_again_changes_nothing(tmp_path):
    lines = rows("A,2025-01-{day:02d},{km},32").splitlines()
    plain = tanks_from(tmp_path, "vehicle,date,odometer_km,volume_L\n" + "\n".join([*lines, lines[3]]))
    assert plain.volume_l.tolist() == [32.0] * 7
    lines[4] = "A,2025-01-05,2600,"
    broken = tanks_from(tmp_path, "vehicle,date,odometer_km,volume_L\n" + "\n".join(lines))
    assert broken.chained.tolist() == [False, True, True, False, True, True]


def test_the_same_files_as_parquet_and_csv_together(tmp_path):
    text = "vehicle,date,odometer_km,volume_L,depot\n" + rows("A,2025-01-{day:02d},{km},32,north")
    (tmp_path / "a.csv").write_text(text)
    frame = pl.read_csv(tmp_path / "a.csv", try_parse_dates=True).with_columns(vehicle=pl.lit("B"))
    frame.write_parquet(tmp_path / "b.parquet")
    both = all_recognized([tmp_path / "a.csv", tmp_path / "b.parquet"], NONE)
    found = tanks_of(both.rows.collect())
    assert tuple(found.vehicles["vehicle"]) == ("A", "B")
    assert tuple(found.vehicles["region"]) == ("north", "north")
    assert found.volume_l[:7].tolist() == found.volume_l[7:].tolist()
    assert {each.heading.partition(":")[0] for each in both.taken} == {"a.csv", "b.parquet"}


def test_tanks_far_above_their_neighbors_are_left_out_and_counted(tmp_path):
    lines = rows("A,2025-01-{day:02d},{km},32", 12).splitlines()
    for nth in (4, 8):
        lines[nth] = lines[nth].removesuffix("32") + "48"  # ln 1.5 is .41, the limit .30
    found = tanks_from(tmp_path, "vehicle,date,odometer_km,volume_L\n" + "\n".join(lines))
    assert found.volume_l.tolist() == [32.0] * 9
    (vehicle,) = found.vehicles.rows(named=True)
    assert [vehicle[each] for each in ("measured", "tanks", "far_above", "far_below")] == [11, 9, 2, 0]
    assert vehicle["above_l"] == pytest.approx(2 * 16)  # by hand: 48 L where the neighbors take 32
    assert vehicle["years"] == pytest.approx(10 / 365.25)  # from January 2 to 12


def test_a_fill_cut_in_two_is_far_off_twice_and_counts_as_neither(tmp_path):
    lines = rows("A,2025-01-{day:02d},{km},32", 12).splitlines()
    lines[5] = lines[5].removesuffix("32") + "16"
    lines[6] = lines[6].removesuffix("32") + "48"
    found = tanks_from(tmp_path, "vehicle,date,odometer_km,volume_L\n" + "\n".join(lines))
    (vehicle,) = found.vehicles.rows(named=True)
    assert (vehicle["tanks"], vehicle["far_above"], vehicle["far_below"]) == (9, 0, 0)


def test_a_vehicle_without_a_tank_is_still_a_vehicle(tmp_path):
    text = "vehicle,date,odometer_km,volume_L\n" + rows("B,2025-01-{day:02d},{km},32") + "\nA,2025-01-01,100,30"
    found = tanks_from(tmp_path, text)
    assert found.vehicles.select("vehicle", "tanks").rows() == [("B", 7), ("A", 0)]
    assert found.counts.tolist() == [7, 0]
