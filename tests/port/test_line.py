"""One request and what can come of it: time asked for, refusals, late, double, interleaved and half answers."""

import pytest

from lostgallon.port.addressing import ELEVEN, TWENTY_NINE
from lostgallon.port.simulated import SimulatedVehicle, cut
from tests.port.bench import Bent, line_on, vehicle

ENGINE, OTHER = 0, 1


class Scripted(Bent):
    """A bus on which the answers to each frame sent are written down: (seconds later, identifier, bytes)."""

    def __init__(self, *script):
        super().__init__(SimulatedVehicle([]))
        self.script = list(script)

    def send(self, msg, timeout=None):
        self.sent.append((self.clock_s(), msg.arbitration_id, bytes(msg.data)))
        for later_s, can_id, data in self.script.pop(0) if self.script else ():
            self.put(self.clock_s() + later_s, can_id, bytes.fromhex(data).ljust(8, b"\0"))


def ask(bus, request="010d", module=ENGINE, **more):
    line = line_on(bus)
    return line, line.ask(bytes.fromhex(request), module=module, **more)


def test_an_answer_in_one_frame():
    bus = Scripted([(0.02, 0x7E8, "03410d3c")])
    _, heard = ask(bus)
    assert [answer.payload.hex() for answer in heard.answers] == ["410d3c"]
    assert bus.sent == [(0.0, 0x7E0, bytes.fromhex("02010d0000000000"))]
    assert heard.took_s == pytest.approx(0.02)


def test_an_answer_in_several_frames_asks_for_its_rest():
    first, *rest = cut(bytes.fromhex("410d3c0c1af8054b04ff"))
    bus = Scripted([(0.02, 0x7E8, first.hex())], [(0.001 * (n + 1), 0x7E8, part.hex()) for n, part in enumerate(rest)])
    _, heard = ask(bus, "010d0c0504")
    assert heard.answers[0].payload.hex() == "410d3c0c1af8054b04ff"
    assert bus.sent[1][1:] == (0x7E0, bytes.fromhex("3000000000000000"))


def test_long_answers_of_two_modules_at_once():
    one, other = cut(b"\x43\x05" + b"\x01\x28" * 5), cut(b"\x43\x04" + b"\x07\x41" * 4)
    bus = Scripted(
        [(0.01, 0x7E8, one[0].hex()), (0.011, 0x7E9, other[0].hex())],
        [(0.002, 0x7E8, one[1].hex())],
        [(0.0021, 0x7E9, other[1].hex())],
    )
    _, heard = ask(bus, "03", None, waiting=frozenset({0, 1}))
    assert {answer.module: len(answer.payload) for answer in heard.answers} == {0: 12, 1: 10}


def test_a_module_that_asks_for_time_gets_it():
    # 7F 01 78: response pending (ISO 14229-1); 5 s are allowed after it (ISO 15765-4, P2*).
    bus = Scripted([(0.03, 0x7E8, "037f0178"), (3.0, 0x7E8, "037f0178"), (7.5, 0x7E8, "03410d3c")])
    _, heard = ask(bus)
    assert heard.answers[0].payload.hex() == "410d3c"
    assert heard.took_s == pytest.approx(7.5)


def test_a_module_that_asks_for_time_for_ever_is_left():
    bus = Scripted([(0.04 * n, 0x7E8, "037f0178") for n in range(1, 2000)])
    _, heard = ask(bus)
    assert not heard.answers
    assert heard.took_s < 16.0


def test_a_busy_module_is_asked_again():
    bus = Scripted([(0.02, 0x7E8, "037f0121")], [(0.02, 0x7E8, "03410d3c")])
    _, heard = ask(bus)
    assert heard.answers[0].payload.hex() == "410d3c"
    assert len(bus.sent) == 2


def test_a_refusal_ends_the_waiting():
    bus = Scripted([(0.02, 0x7E8, "037f0112")])
    _, heard = ask(bus)
    assert [(one.module, one.code) for one in heard.refusals] == [(0, 0x12)]
    assert heard.took_s < 0.03


def test_a_late_answer_does_not_pass_for_the_next():
    bus = Scripted([(0.4, 0x7E8, "03410d11")], [(0.02, 0x7E8, "03410d22")])
    line, heard = ask(bus)
    assert not heard.answers
    line.pause(0.5)
    heard = line.ask(b"\x01\x0d", module=ENGINE)
    assert heard.answers[0].payload.hex() == "410d22"
    assert line.strays.counts["late"] == 1


def test_a_late_answer_among_the_next_request_is_dropped_by_what_it_answers():
    bus = Scripted([(0.16, 0x7E8, "03410d11")], [(0.02, 0x7E8, "04410c1af8")])
    line, _ = ask(bus)
    heard = line.ask(b"\x01\x0c", module=ENGINE)
    assert heard.answers[0].payload.hex() == "410c1af8"
    assert line.strays.counts["answers nothing that was asked"] == 1


def test_a_module_that_answers_twice_counts_once():
    bus = Scripted([(0.02, 0x7E8, "03410d3c"), (0.021, 0x7E8, "03410d3d")])
    line, heard = ask(bus, module=None)
    assert [answer.payload.hex() for answer in heard.answers] == ["410d3c"]
    assert line.strays.counts["answered twice"] == 1


def test_half_an_answer_is_no_answer():
    first, second, third = cut(bytes(range(1, 20)))
    for rest in ([], [second], [third], [second, second]):
        bus = Scripted(
            [(0.02, 0x7E8, (b"\x10\x13\x41" + first[3:]).hex())], [(0.01, 0x7E8, part.hex()) for part in rest]
        )
        line, heard = ask(bus, "010c")
        assert not heard.answers
        assert heard.took_s < 3.0
        heard = line.ask(b"\x01\x0d", module=ENGINE)
        assert not heard.answers


def test_a_silent_module_costs_a_sixth_of_a_second():
    _, heard = ask(Scripted())
    assert not heard.anything
    assert heard.took_s == pytest.approx(0.150)


def test_frames_of_others_and_of_the_other_width_are_not_ours():
    bus = Scripted([(0.01, 0x123, "03410d3c"), (0.02, 0x7F0, "03410d3c"), (0.03, 0x7E9, "03410d3c")])
    _, heard = ask(bus)
    assert [answer.module for answer in heard.answers] == [OTHER]


def test_29_bits():
    bus = Bent(vehicle(addressing=TWENTY_NINE))
    heard = line_on(bus, TWENTY_NINE).ask(b"\x01\x0d", module=0)
    assert heard.answers[0].payload.hex() == "410d3c"
    assert line_on(Bent(vehicle()), ELEVEN).addressing.name(0) == "7E8"
    assert TWENTY_NINE.name(0x10) == "18DAF110"
