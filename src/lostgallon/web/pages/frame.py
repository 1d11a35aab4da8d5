"""What every page carries: the person's choices, the token of its forms, the guide of the demo."""

from dataclasses import dataclass

from lostgallon.web.person import Person
from lostgallon.web.rights import Role


@dataclass(frozen=True)
class Frame:
    """Around every page.

    Attributes:
        person: The choices of the device.
        token: What every form carries, so that a page elsewhere can't post here.
        new_key: The mark of the entry that the form on this page makes.
        address: The path of this page.
        guide: Whether the guided first visit of the demo is offered.
        role: What may be done on this device.
        paired: Whether this is a device of the shop's network, not the computer that runs the program.
    """

    person: Person
    token: str
    new_key: str
    address: str
    guide: bool
    role: Role = "keeper"
    paired: bool = False
