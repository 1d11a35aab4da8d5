"""'Not enough data' is a named result. The rules that give one stand beside the numbers they guard."""

from dataclasses import dataclass


@dataclass(frozen=True)
class NotEnough:
    """What can't be said, what is missing for it, and what it would take.

    The name is stable and snake_case, so that programs and tests can rely on it.
    """

    name: str
    missing: str
    would_take: str
