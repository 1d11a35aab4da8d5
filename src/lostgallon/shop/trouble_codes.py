"""Trouble codes by SAE J2012: what their letters say, and how two bytes on the port spell one."""

from lostgallon.shop.driven import Code

SYSTEMS = {"P": "powertrain", "C": "chassis", "B": "body", "U": "network"}


def code_of(text: str) -> Code:
    """A trouble code with its system and who defines it, by its first characters.

    Source: SAE J2012: letter P, C, B, U; then 0 (and P2, P34 to P39, U3) defined by the standard, else by the maker.
    """
    second, third = text[1], text[2]
    standard = second == "0" or (text[0] == "P" and (second == "2" or (second == "3" and third in "456789")))
    standard = standard or (text[0] == "U" and second == "3")
    return Code(text, SYSTEMS[text[0]], "the standard" if standard else "the maker")


def spelled(raw: bytes) -> str:
    """The code that two bytes stand for: `P0128` from 01 28.

    Source: SAE J1979 / ISO 15031-6: two bits for the letter, two for the first digit, then three digits of base 16.
    """
    return f"{'PCBU'[raw[0] >> 6]}{raw[0] >> 4 & 3}{raw[0] & 15:X}{raw[1]:02X}"
