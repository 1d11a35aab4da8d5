"""Who may do what: every address and method has the roles that may use it.

What is not in the table is refused to those who may only read, unless it only shows.
"""

from collections.abc import Mapping
from typing import Literal

Role = Literal["keeper", "technician", "counter", "read only"]
"""The keeper sits at the computer that runs the program; the others are roles of devices."""

PAIRED_ROLES: tuple[Role, ...] = ("technician", "counter", "read only")

EVERYBODY: frozenset[Role] = frozenset({"keeper", "technician", "counter", "read only"})
ENTER: frozenset[Role] = frozenset({"keeper", "technician", "counter"})
BENCH: frozenset[Role] = frozenset({"keeper", "technician"})
COUNTER: frozenset[Role] = frozenset({"keeper", "counter"})
KEEPER: frozenset[Role] = frozenset({"keeper"})

_CORRECTION = "/visit/{visit}/correction/{operation}"

EXCEPTIONS: Mapping[tuple[str, str], frozenset[Role]] = {
    # A device's own choices are cookies of that device; nothing of the shop changes.
    ("POST", "/choices"): EVERYBODY,
    ("POST", "/leave"): EVERYBODY,
    # What somebody answers for with a tool in hand.
    ("POST", _CORRECTION + "/fill-in"): BENCH,
    ("POST", _CORRECTION + "/done"): BENCH,
    ("POST", "/visit/{visit}/release/{item}"): BENCH,
    ("POST", "/gauges"): BENCH,
    ("POST", "/gauges/forget"): BENCH,
    ("POST", "/visit/{visit}/port/start"): BENCH,
    ("POST", "/visit/{visit}/port/stop"): BENCH,
    ("POST", "/visit/{visit}/port/keep"): BENCH,
    ("POST", "/visit/{visit}/port/memory"): BENCH,
    # What the shop promises or hands out about a person.
    ("GET", "/owner/{owner}"): COUNTER,
    ("POST", "/owner/{owner}/export"): COUNTER,
    ("POST", "/vehicle/{vehicle}/export"): COUNTER,
    ("POST", "/owner/{owner}/erase"): KEEPER,
    ("GET", "/shop"): KEEPER,
    ("POST", "/learned/use"): KEEPER,
    ("POST", "/learned/stop"): KEEPER,
    ("POST", "/shop/backups"): KEEPER,
    ("POST", "/shop/letterhead"): KEEPER,
    ("POST", "/shop/devices"): KEEPER,
    ("GET", "/shop/devices/{invitation}"): KEEPER,
    ("POST", "/shop/devices/{device}/out"): KEEPER,
}


def roles_for(method: str, path: str) -> frozenset[Role]:
    """The roles that may use an address: those of the table, or everybody who is let in to look, not to enter.

    An entry by the API has the rights of its form.
    """
    form = path.replace("/api/visits", "/visit", 1).removeprefix("/api") if method == "POST" else path
    return EXCEPTIONS.get((method, form), EVERYBODY if method == "GET" else ENTER)
