"""A small sample of `python -m tests.hard.letting_in`, whose full counts stand in docs/security.md."""

import pytest

from tests.hard import addresses, mangled, sound_files


@pytest.mark.slow
@pytest.mark.parametrize("name", mangled.KINDS)
def test_damaged_files_are_read_or_refused_in_one_line(name):
    pytest.importorskip("asammdf", reason="the extra for measurements") if "MDF" in name else None
    times = 4 if "MDF" in name else 25  # each measurement takes a process of its own, two seconds
    counted = mangled.count_kind(name, times)
    assert (counted.done, counted.wrong) == (times, [])


def test_the_same_number_is_the_same_file():
    seeds = sound_files.fill_seeds()
    assert mangled.mangled(seeds, 7, "x") == mangled.mangled(seeds, 7, "x") != mangled.mangled(seeds, 8, "x")


def test_a_count_of_files_names_what_is_wrong():
    counted = mangled.Count("x")
    counted.add(0, "read", seconds=0.1, memory=50)
    counted.add(1, "refused", seconds=6.0, memory=50)
    counted.add(2, "KeyError: 'x'", seconds=0.1, memory=900)
    assert [number for number, _ in counted.wrong] == [1, 2, 2]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["api", "pages"])
def test_made_up_requests_break_nothing(name):
    answers = addresses.count(name, 3 if name == "api" else 1)
    assert answers.addresses >= (4 if name == "api" else 40)
    assert answers.broken == []
