"""The door: help, near misses, one line for every trouble."""

import pytest

from lostgallon import __version__
from lostgallon.cli import COMMANDS


def test_help_names_every_command(run):
    ran = run("--help")
    assert ran.status == 0
    assert all(name in ran.out for name in COMMANDS)


def test_version(run):
    assert __version__ in run("--version").out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["tirs"], "did you mean tires?"),
        (["fly"], "expected account"),
        (["tires", "--placrd", "33psi"], "--placard"),
        (["tires", "--placard"], "--placard"),
        (["tires", "--placard", "33psi", "--bay", "68degF"], "--street"),
        (["tires", "--placard", "33psi", "--bay", "68degF", "--street", "25degF", "extra"], "extra"),
    ],
)
def test_a_slip_gets_one_line_and_status_2(run, arguments, said):
    ran = run(*arguments)
    assert ran.status == 2
    assert said in ran.line
