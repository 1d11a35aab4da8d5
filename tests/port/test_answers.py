"""Bytes of an answer, each laid out by hand from the standard's description."""

import pytest

from lostgallon.port.answers import (
    Garbled,
    by_compression,
    codes_of,
    frozen_code,
    misfires_of,
    readiness_of,
    results_of,
    supported,
    values_of,
    vin_of,
)
from lostgallon.port.parameters import parameters
from lostgallon.shop.trouble_codes import code_of, spelled


def test_supported_parameters():
    # BE 1F A8 13 is the standard's much quoted example: 01 03 04 05 06 07 0C 0D 0E 0F 10 11 13 15 1C 1F 20.
    found = supported(bytes.fromhex("4100be1fa813"))
    assert [f"{pid:02X}" for pid in found] == [
        "01",
        "03",
        "04",
        "05",
        "06",
        "07",
        "0C",
        "0D",
        "0E",
        "0F",
        "10",
        "11",
        "13",
        "15",
        "1C",
        "1F",
        "20",
    ]
    assert supported(bytes.fromhex("412080000001")) == (0x21, 0x40)


@pytest.mark.parametrize("text", ["41", "4100", "4100be1fa8", "4100be1fa81300", "4101be1fa813"])
def test_a_bitmap_that_is_none(text):
    with pytest.raises(Garbled):
        supported(bytes.fromhex(text))


def test_several_parameters_in_one_answer():
    found = values_of(bytes.fromhex("410c1af80d3c054b"), (0x0C, 0x0D, 0x05), parameters())
    # (256 * 26 + 248) / 4 = 1726; 60; 75 - 40 = 35.
    assert {pid: parameters()[pid].value(raw) for pid, raw in found.items()} == {0x0C: 1726.0, 0x0D: 60.0, 0x05: 35.0}
    # A parameter that is not supported is left out of the answer.
    assert values_of(bytes.fromhex("410d3c"), (0x0C, 0x0D), parameters()) == {0x0D: b"\x3c"}


def test_a_third_bank_in_an_answer_asked_for_alone():
    # SAE J1979: short trim of banks 1 and 3 in two bytes where there is a bank 3.
    assert parameters()[0x06].value(values_of(b"\x41\x06\x90\x70", (0x06,), parameters())[0x06]) == 12.5


@pytest.mark.parametrize("text", ["410c1a", "410d3c0d3c", "41113c", "410d", "410c1af80d"])
def test_values_that_do_not_fit(text):
    with pytest.raises(Garbled):
        values_of(bytes.fromhex(text), (0x0C, 0x0D), parameters())


# SAE J2012: the letter and the first digit are in the first four bits.
CODES = [
    ("0128", "P0128"),
    ("0143", "P0143"),
    ("c100", "U0100"),
    ("4300", "C0300"),
    ("9234", "B1234"),
    ("1abc", "P1ABC"),
    ("3456", "P3456"),
]


@pytest.mark.parametrize(("raw", "text"), CODES)
def test_codes_are_spelled(raw, text):
    assert spelled(bytes.fromhex(raw)) == text


def test_codes_of_an_answer():
    found = codes_of(bytes.fromhex("430301280143c100"))
    assert [one.code for one in found] == ["P0128", "P0143", "U0100"]
    assert found[2] == code_of("U0100")
    assert found[2].system == "network"
    assert codes_of(bytes.fromhex("4700")) == ()


@pytest.mark.parametrize("text", ["43", "43020128", "4301012800"])
def test_a_count_that_does_not_fit(text):
    with pytest.raises(Garbled):
        codes_of(bytes.fromhex(text))


def test_freeze_frame_code():
    assert frozen_code(bytes.fromhex("4202000128")) == "P0128"
    assert frozen_code(bytes.fromhex("4202000000")) == ""
    with pytest.raises(Garbled):
        frozen_code(bytes.fromhex("4202010128"))


def test_readiness():
    # 81: lamp on, one code. 07: misfire, fuel system, components there and run. 65: catalyst, evaporative system, oxygen
    # sensor and its heater there (bits 0, 2, 5, 6). 05: catalyst and evaporative system not yet run.
    found = readiness_of(bytes.fromhex("81076505"))
    assert found.lamp_on
    assert found.codes == 1
    assert found.incomplete == ("catalyst", "evaporative system")
    assert found.complete == ("misfire", "fuel system", "components", "oxygen sensor", "oxygen sensor heater")
    # Bits 4 to 6 of the second byte: misfire monitor there and not yet run.
    assert readiness_of(bytes.fromhex("00110000")).incomplete == ("misfire",)
    assert not by_compression(bytes.fromhex("81076505"))
    assert by_compression(bytes.fromhex("000f0000"))


def test_misfire_counts():
    # Monitor A2 is cylinder 1; tests 0B and 0C; scale 24, counts: 0x0102 = 258 and 7; limits 0 and FFFF.
    answer = bytes.fromhex("46a20b2401020000ffffa20c2400070000ffff")
    found = misfires_of(results_of(answer))
    assert (found.cylinder, found.ten_drives, found.this_drive) == (1, 258.0, 7.0)
    assert misfires_of(results_of(bytes.fromhex("46a20b0101020000ffff"))) is None  # another scale is no count
    for broken in ("46", "46a20b24", "46a20b2401020000ffffa30b2401020000ffff"):
        with pytest.raises(Garbled):
            results_of(bytes.fromhex(broken))


def test_vehicle_identification_number():
    assert vin_of(b"\x49\x02\x01" + b"1" * 17) == "1" * 17
    assert vin_of(b"\x49\x02\x01\x00\x00\x00" + b"1" * 17) == "1" * 17
    for broken in (b"\x49\x02\x01" + b"1" * 16, b"\x49\x02\x01" + b"\xff" * 17, b"\x49\x02"):
        with pytest.raises(Garbled):
            vin_of(broken)
