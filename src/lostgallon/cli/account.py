"""`lostgallon account`: the whole job from a case file."""

from pathlib import Path

import click
from platformdirs import user_cache_path
from rich.console import Console

from lostgallon.cli.options import existing_file, json_option, seed_option, show
from lostgallon.job.account import DRAWS, LETTER_DRAWS, Asked, account_of
from lostgallon.paper.account_view import account_text
from lostgallon.paper.letter import write_letter
from lostgallon.paper.sheet import write_sheet
from lostgallon.paper.typeset import Page
from lostgallon.readers.case import read_case
from lostgallon.shop.trouble import BadInput


@click.command()
@click.argument("case_file", type=existing_file)
@click.option("--letter", type=existing_file, help="Write the owner's letter to this PDF.")
@click.option("--sheet", type=existing_file, help="Write the technician's sheet to this PDF.")
@click.option("--page", type=click.Choice(["letter", "a4"]), default="letter", show_default=True, help="Paper size.")
@click.option("--draws", type=click.IntRange(256, 65536), help=f"Stories weighed. [{DRAWS}, for paper {LETTER_DRAWS}]")
@click.option("--numbers", type=existing_file, help="The shop's own numbers (YAML) in place of the catalogue's.")
@seed_option
@json_option
def command(
    *,
    case_file: Path,
    letter: Path | None,
    sheet: Path | None,
    page: Page,
    draws: int | None,
    numbers: Path | None,
    seed: int,
    as_json_text: bool,
) -> None:
    """The whole job from a case file: then, why, now; checks, corrections, the plan, the letter."""
    case = read_case(case_file)
    asked = Asked(
        seed=seed,
        draws=draws or (LETTER_DRAWS if letter else DRAWS),
        folder=user_cache_path("lostgallon") / "calibrations",
        numbers=numbers,
    )
    try:
        account = account_of(case, asked)
    except BadInput as trouble:
        own = numbers is not None and trouble.where.startswith(str(numbers))
        raise (trouble if own else trouble.within(str(case_file))) from None
    written = []
    if letter:
        write_letter(account, case, letter, page=page)
        written.append(f"The owner's letter is in {letter}")
    if sheet:
        write_sheet(account, case, sheet, page=page)
        written.append(f"The technician's sheet is in {sheet}")

    def view(console: Console) -> None:
        color = console.is_terminal and not console.no_color
        text = account_text(account, case, width=min(console.width, 80), color=color)
        console.out(text, highlight=False)
        for line in written:
            console.out(line, highlight=False)

    show(account, view, as_json_text=as_json_text)
