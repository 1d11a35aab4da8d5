"""Commands run as in tests/cli."""

from tests.cli.conftest import run

__all__ = ["run"]
