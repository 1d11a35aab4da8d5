"""Lets `python -m lostgallon` stand for the command."""

from lostgallon.cli import main

if __name__ == "__main__":
    main()
