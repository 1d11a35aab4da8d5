"""Commands run as a person runs them, in this process."""

import json
import sys
from dataclasses import dataclass

import pytest

from lostgallon.cli import main


@dataclass(frozen=True)
class Ran:
    status: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)

    @property
    def line(self):
        """The one line on standard error; more than one is a failure of its own."""
        assert self.out == ""
        assert self.err.count("\n") == 1, self.err
        assert "Traceback" not in self.err
        return self.err.strip()


@pytest.fixture
def run(monkeypatch, capsys):
    def call(*arguments):
        monkeypatch.setattr(sys, "argv", ["lostgallon", *map(str, arguments)])
        with pytest.raises(SystemExit) as left:
            main()
        told = capsys.readouterr()
        return Ran(status=left.value.code, out=told.out, err=told.err)

    return call
