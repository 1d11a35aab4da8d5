"""The commands. This file knows their names; each command lives in a file of its own and is loaded when called."""

import os
import sys
from importlib import import_module
from typing import NoReturn

import click

from lostgallon import __version__
from lostgallon.shop.trouble import Trouble, suggestion

COMMANDS = {
    "account": "The whole job from a case file: then, why, now; checks, corrections, plan, letter.",
    "predict": "What the physics says this vehicle uses over a way of driving.",
    "fillups": "Is the loss real, since when, how large; did the fuel come back.",
    "screen": "Many vehicles at once: which have lost fuel beyond season and scatter.",
    "drive": "What a recorded drive from the diagnostic port says.",
    "tires": "The tire pressure to set now for a colder or warmer street.",
    "learned": "What the shop's own proven visits say about causes, corrections and checks.",
    "serve": "The shop's own pages in the browser.",
    "demo": "An invented shop in the browser, thrown away afterwards.",
    "backup": "Write the whole shop into one archive while the program runs.",
    "restore": "Bring a backup back, verified before it replaces anything.",
    "inspect-data": "Read every record, photo and seal, and name what is damaged.",
    "self-check": "What works on this computer and what does not.",
}
"""Name and one line of help. The module of that name (with _ for -) holds a click command called `command`."""


class LazyCommands(click.Group):
    """Loads a command's module only when that command is called, so that --help stays quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, or None."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"lostgallon.cli.{cmd_name.replace('-', '_')}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does it, with the nearest name suggested."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = suggestion(args[0], COMMANDS)
            raise click.UsageError(f"found the command {args[0]!r}; expected {', '.join(COMMANDS)}{near}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list in --help, from the table and not from the modules."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=LazyCommands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Every command that prints a result also takes --json.",
)
@click.version_option(__version__, prog_name="lostgallon")
def lostgallon() -> None:
    """Keep an account of the lost fuel: then, why, now, and what is not accounted for."""


def main() -> NoReturn:
    """Run a command; a trouble becomes one line on standard error and its exit status."""
    # Matrices are small here: on one thread they take less, and their sums are alike on every machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        lostgallon.main(prog_name="lostgallon", standalone_mode=False)
    except Trouble as trouble:
        _stop(str(trouble), trouble.exit_status)
    except click.exceptions.Exit as done:
        sys.exit(done.exit_code)
    except click.Abort:
        _stop("stopped by the keyboard; nothing was changed", 130)
    except click.UsageError as misuse:
        command = misuse.ctx.command_path if misuse.ctx else "lostgallon"
        _stop(f"{command}: {_what_was_misused(misuse)}", 2)
    except click.ClickException as misuse:
        _stop(misuse.format_message(), 2)
    except BrokenPipeError:
        # The reader of a pipe (head, less) went away; the interpreter must not complain while closing.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(141)
    sys.exit(0)


def _what_was_misused(misuse: click.UsageError) -> str:
    """The same order as everywhere: what was found, what was expected."""
    if isinstance(misuse, click.NoSuchOption):
        near = f" (did you mean {misuse.possibilities[0]}?)" if misuse.possibilities else ""
        return f"found the unknown option {misuse.option_name}{near}; expected one that --help lists"
    if isinstance(misuse, click.MissingParameter) and misuse.param:
        return f"found no {_name_of(misuse.param)}; expected it (--help says how)"
    if isinstance(misuse, click.BadOptionUsage):
        return f"{misuse.option_name}: found no value; expected one after it (--help says which)"
    if isinstance(misuse, click.BadParameter) and misuse.param:
        return f"{_name_of(misuse.param)}: {misuse.message.rstrip('.')} (--help says more)"
    return misuse.format_message()


def _name_of(param: click.Parameter) -> str:
    """An option as it is typed, an argument as --help writes it."""
    return param.opts[0] if param.param_type_name == "option" else str(param.name).upper()


def _stop(sentence: str, status: int) -> NoReturn:
    line = " ".join(sentence.split())
    print(line if line.startswith("lostgallon") else f"lostgallon: {line}", file=sys.stderr)  # noqa: T201 - for a person
    sys.exit(status)
