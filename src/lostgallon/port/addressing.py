"""Who is who on the bus: the identifiers of ISO 15765-4, 11 and 29 bits wide."""

from dataclasses import dataclass

FRAME_BYTES = 8
"""Every frame of emissions diagnostics on CAN is eight bytes long (ISO 15765-4)."""


@dataclass(frozen=True)
class Addressing:
    """One of the two widths of identifiers.

    A module is named by its own byte: 0 to 7 with 11 bits (it answers at 7E8 to 7EF), its address with 29 bits.

    Attributes:
        bits: 11 or 29.
        functional: The identifier that asks every module at once.
        modules: Modules that may answer.
        request_base: Identifier that asks module 0 alone.
        request_shift: How far a module's byte is moved up to get its identifier.
        answer_base: Identifier at which module 0 answers.
        answer_shift: The same for answers.
        answer_mask: Bits of an identifier that all answers share.
    """

    bits: int
    functional: int
    modules: range
    request_base: int
    request_shift: int
    answer_base: int
    answer_shift: int
    answer_mask: int

    def request_id(self, module: int) -> int:
        """The identifier that asks one module alone."""
        return self.request_base | module << self.request_shift

    def answer_id(self, module: int) -> int:
        """The identifier at which a module answers."""
        return self.answer_base | module << self.answer_shift

    def module_at(self, can_id: int) -> int | None:
        """The module that answers at an identifier, or None where it is no answer."""
        if can_id & self.answer_mask != self.answer_base:
            return None
        return (can_id & ~self.answer_mask) >> self.answer_shift

    def may_ask(self, can_id: int) -> bool:
        """Whether requests may be sent at an identifier."""
        return can_id == self.functional or self.alone(can_id)

    def alone(self, can_id: int) -> bool:
        """Whether an identifier asks one module alone."""
        module = (can_id - self.request_base) >> self.request_shift
        return module in self.modules and self.request_id(module) == can_id

    def name(self, module: int) -> str:
        """A module as a technician reads it: the identifier of its answers in base 16."""
        return f"{self.answer_id(module):X}"


ELEVEN = Addressing(
    bits=11,
    functional=0x7DF,
    modules=range(8),
    request_base=0x7E0,
    request_shift=0,
    answer_base=0x7E8,
    answer_shift=0,
    answer_mask=0x7F8,
)
"""ISO 15765-4, 11 bit: 7DF asks all, 7E0 to 7E7 one each, 7E8 to 7EF answer."""

TWENTY_NINE = Addressing(
    bits=29,
    functional=0x18DB33F1,
    modules=range(256),
    request_base=0x18DA00F1,
    request_shift=8,
    answer_base=0x18DAF100,
    answer_shift=0,
    answer_mask=0x1FFFFF00,
)
"""ISO 15765-4, 29 bit: 18DB33F1 asks all, 18DAxxF1 one, 18DAF1xx answers; F1 is the tester."""

ADDRESSINGS = (ELEVEN, TWENTY_NINE)
"""In the order in which ISO 15765-4 tries them."""
