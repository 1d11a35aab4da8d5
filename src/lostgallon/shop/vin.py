"""The vehicle identification number: length, letters and check digit (49 CFR 565.15, tables III to V; ISO 3779)."""

_LENGTH = 17
_CHECK_PLACE = 8
_VALUES = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7, "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}  # fmt: skip
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


def check_digit(vin: str) -> str:
    """The check digit of a number of 17 known letters and digits: 0 to 9, or X for ten."""
    rest = sum(weight * _VALUES[letter] for weight, letter in zip(_WEIGHTS, vin, strict=True)) % 11
    return "X" if rest == 10 else str(rest)


def vin_trouble(vin: str) -> str:
    """What is wrong with a number, in a sentence; empty where nothing is."""
    if len(vin) != _LENGTH:
        return f"Found {len(vin)} letters and digits; expected {_LENGTH}."
    strange = sorted({letter for letter in vin if letter not in _VALUES})
    if strange:
        return f"Found {', '.join(strange)}; expected digits and letters without I, O and Q."
    expected = check_digit(vin)
    if vin[_CHECK_PLACE] != expected:
        return f"Found {vin[_CHECK_PLACE]} as the ninth; expected {expected} for these letters. Read it again."
    return ""
