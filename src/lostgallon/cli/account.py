"""`lostgallon account`: the whole job from a case file."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Literal

import click
from platformdirs import user_cache_path
from rich.console import Console

from lostgallon.cli.options import existing_file, json_option, seed_option, show
from lostgallon.job.account import DRAWS, LETTER_DRAWS, Asked, account_of
from lostgallon.paper.account_view import account_text
from lostgallon.paper.estimate import write_estimate
from lostgallon.paper.fill_card import write_fill_card
from lostgallon.paper.letter import write_letter
from lostgallon.paper.sheet import write_sheet
from lostgallon.paper.typeset import Page
from lostgallon.readers.case import read_case
from lostgallon.shop.trouble import BadInput

PAPERS: dict[str, tuple[Callable[..., None], str]] = {
    "letter": (write_letter, "owner's letter"),
    "sheet": (write_sheet, "technician's sheet"),
    "estimate": (write_estimate, "written estimate"),
    "card": (write_fill_card, "fill card"),
}
"""What can be put on paper: how it is written, and its name."""


@click.command()
@click.argument("case_file", type=existing_file)
@click.option("--letter", type=existing_file, help="Write the owner's letter to this PDF.")
@click.option("--sheet", type=existing_file, help="Write the technician's sheet, with the estimate, to this PDF.")
@click.option("--estimate", type=existing_file, help="Write the estimate alone to this PDF.")
@click.option("--card", type=existing_file, help="Write the card for the next six fill-ups to this PDF.")
@click.option("--page", type=click.Choice(["letter", "a4"]), default="letter", show_default=True, help="Paper size.")
@click.option("--language", type=click.Choice(["en", "es"]), help="Language to print in. [the case's own]")
@click.option("--draws", type=click.IntRange(256, 65536), help=f"Stories weighed. [{DRAWS}, for paper {LETTER_DRAWS}]")
@click.option("--numbers", type=existing_file, help="The shop's own numbers (YAML) in place of the catalogue's.")
@seed_option
@json_option
def command(
    *,
    case_file: Path,
    page: Page,
    language: Literal["en", "es"] | None,
    draws: int | None,
    numbers: Path | None,
    seed: int,
    as_json_text: bool,
    **papers: Path | None,
) -> None:
    """The whole job from a case file: then, why, now; checks, corrections, the plan, the letter."""
    case = read_case(case_file)
    if language:
        case = replace(case, shop=replace(case.shop, language=language))
    wanted = {name: path for name, path in papers.items() if path}
    asked = Asked(
        seed=seed,
        draws=draws or (LETTER_DRAWS if wanted else DRAWS),
        folder=user_cache_path("lostgallon") / "calibrations",
        numbers=numbers,
    )
    try:
        account = account_of(case, asked)
    except BadInput as trouble:
        own = numbers is not None and trouble.where.startswith(str(numbers))
        raise (trouble if own else trouble.within(str(case_file))) from None
    written = []
    for name, path in wanted.items():
        write, title = PAPERS[name]
        write(account, case, path, page=page)
        written.append(f"The {title} is in {path}")

    def view(console: Console) -> None:
        color = console.is_terminal and not console.no_color
        text = account_text(account, case, width=min(console.width, 80), color=color)
        console.out(text, highlight=False)
        for line in written:
            console.out(line, highlight=False)

    show(account, view, as_json_text=as_json_text)
