"""Rounds a second at the diagnostic port against a simulated vehicle: python -m benchmarks.port [--json].

Rounds are counted on the bus's own clock, so the machine's load does not matter; the processor time of a round is
measured. A round is every fast channel once and one group of slow ones (docs/port.md).
"""

import datetime as dt
import json
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from lostgallon.port.channel import Channel, connected
from lostgallon.port.kept_memory import read_memory
from lostgallon.port.parameters import parameters
from lostgallon.port.recording import Edges, Wish, record
from lostgallon.port.simulated import Memory, SimulatedDrive, SimulatedModule, SimulatedVehicle
from lostgallon.port.simulated_bus import SimulatedBus

ANSWER_TIMES_S = (0.002, 0.005, 0.010, 0.020, 0.050, 0.100)
SECONDS = 120.0
HERE = Channel("virtual", "bench")
NOON = dt.datetime(2026, 1, 15, 12, 0, tzinfo=dt.UTC)


def bus(answer_s: float, most_in_one: int) -> SimulatedBus:
    """A vehicle that supports every channel of the table."""
    time_s = np.arange(0.0, SECONDS + 1.0)
    values = {one.channel: np.full(time_s.shape, 10.0) for one in parameters().values() if one.channel}
    module = SimulatedModule(0, SimulatedDrive(time_s, values), Memory(), delay_s=answer_s, most_in_one=most_in_one)
    return SimulatedBus(SimulatedVehicle([module], ends_s=SECONDS))


def rounds(answer_s: float, most_in_one: int, folder: Path) -> dict[str, float | str]:
    """One recording."""
    car, began_s = bus(answer_s, most_in_one), time.process_time()
    edges = Edges(lambda _channel, _rate: car, car.clock_s, lambda: False, lambda _progress: None)
    wish = Wish(HERE, folder / "drive.csv", NOON, wait_back_s=0.0)
    done = record(wish, edges)
    cpu_s = time.process_time() - began_s
    answers = wish.raw.read_text("utf-8").count("\n") - 1
    pressed = bus(answer_s, most_in_one)
    with connected(HERE, lambda _channel, _rate: pressed, pressed.clock_s) as there:
        began_bus_s = pressed.clock_s()
        read_memory(there, NOON)
    return {
        "name": f"answer_{1000 * answer_s:.0f}_ms_{most_in_one}_in_one",
        "answer_ms": 1000.0 * answer_s,
        "most_in_one": most_in_one,
        "rounds_hz": round(done.rounds_hz, 1),
        "share_of_back_to_back": round(answers * answer_s / SECONDS, 2),
        "cpu_ms_a_round": round(1000.0 * cpu_s / done.rows, 2),
        "memory_press_s": round(pressed.clock_s() - began_bus_s, 1),
    }


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        rows = [rounds(answer_s, most, Path(folder)) for most in (6, 1) for answer_s in ANSWER_TIMES_S]
    if "--json" in sys.argv:
        print(json.dumps({"benchmark": "port", "rows": rows}, indent=2))
        return
    print("answer ms  in one request  rounds/s  cpu ms/round  memory s")
    for row in rows:
        cells = (row["answer_ms"], row["most_in_one"], row["rounds_hz"], row["cpu_ms_a_round"], row["memory_press_s"])
        print("{:9.0f}  {:14d}  {:8.1f}  {:12.2f}  {:8.1f}".format(*cells))


if __name__ == "__main__":
    main()
