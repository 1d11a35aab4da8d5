"""Carries the frames of a simulated vehicle on a clock of its own, so that half an hour's drive takes seconds."""

import heapq
import time
from itertools import count

import can

from lostgallon.port.simulated import SimulatedVehicle

LONG_ENOUGH_S = 0.005
"""Sleeps shorter than this are saved up."""


class SimulatedBus:
    """A bus in the shape that a recording uses (gate.Bus); time passes when somebody waits for a frame.

    Args:
        vehicle: Who answers.
        times_faster: How many seconds of the drive pass in one; None as fast as the processor goes.
        starts_s: What the clock shows at first. [s]
    """

    def __init__(self, vehicle: SimulatedVehicle, *, times_faster: float | None = None, starts_s: float = 0.0) -> None:
        self.vehicle, self._times_faster = vehicle, times_faster
        self._now_s, self._owed_s = starts_s, 0.0
        self._waiting: list[tuple[float, int, int, bytes]] = []
        self._order = count()

    def clock_s(self) -> float:
        """The bus's own time. [s]"""
        return self._now_s

    @property
    def state(self) -> can.BusState:
        """Always on the bus."""
        return can.BusState.ACTIVE

    def send(self, msg: can.Message, timeout: float | None = None) -> None:
        """A frame reaches every module."""
        for at_s, can_id, data in self.vehicle.react(msg.arbitration_id, bytes(msg.data), self._now_s):
            self.put(at_s, can_id, data)

    def put(self, at_s: float, can_id: int, data: bytes) -> None:
        """Put a frame on the bus at a moment. [s]"""
        heapq.heappush(self._waiting, (at_s, next(self._order), can_id, data))

    def recv(self, timeout: float | None = None) -> can.Message | None:
        """The next frame within the seconds; the clock goes on by as much as was waited."""
        until_s = self._now_s + (timeout or 0.0)
        if not self._waiting or self._waiting[0][0] > until_s:
            self._pass(until_s)
            return None
        at_s, _, can_id, data = heapq.heappop(self._waiting)
        self._pass(max(at_s, self._now_s))
        extended = self.vehicle.addressing.bits > 11
        return can.Message(arbitration_id=can_id, data=data, is_extended_id=extended)

    def shutdown(self) -> None:
        """Nothing is held."""

    def _pass(self, until_s: float) -> None:
        if self._times_faster is not None:
            self._owed_s += (until_s - self._now_s) / self._times_faster
            if self._owed_s >= LONG_ENOUGH_S:
                time.sleep(self._owed_s)
                self._owed_s = 0.0
        self._now_s = until_s
