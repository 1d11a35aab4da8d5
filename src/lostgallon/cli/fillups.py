"""`lostgallon fillups`: is the loss real, since when, how large; did the fuel come back."""

from datetime import date, datetime
from pathlib import Path

import click
from platformdirs import user_cache_path, user_data_path

from lostgallon.cli.options import existing_file, json_option, show
from lostgallon.shop.filled import FillHints
from lostgallon.shop.trouble import BadArgument, one_of

COLUMN_ROLES = ("date", "odometer", "distance", "volume", "ambient", "ethanol", "note", "to_first_click", "partial")
COLUMN_HELP = 'Say what a column is where it was taken wrongly: --column odometer="total km", or ="column 3".'
DATE_ORDERS = {"year-first": "year", "month-first": "month", "day-first": "day"}


def _day(_context: click.Context, option: click.Parameter, typed: str | None) -> date | None:
    if typed is None:
        return None
    try:
        return datetime.strptime(typed, "%Y-%m-%d").date()  # noqa: DTZ007 - a day has no time zone
    except ValueError:
        raise BadArgument(option.opts[0], found=repr(typed), expected="a day like 2026-01-15") from None


def _columns(_context: click.Context, _option: click.Parameter, typed: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    told = [each.partition("=")[::2] for each in typed]
    for role, heading in told:
        if role not in COLUMN_ROLES or not heading.strip():
            raise BadArgument(
                "--column", found=f"{role}={heading}", expected=f"ROLE=HEADING with {one_of(COLUMN_ROLES)}"
            )
    return tuple((role, heading.strip()) for role, heading in told)


@click.command()
@click.argument("log", type=existing_file)
@click.option("--vehicle", type=existing_file, help="A case file: the season slope then comes from its physics.")
@click.option("--temperature", type=existing_file, help="Outside temperatures by day, or twelve monthly means.")
@click.option("--town", default="", help="A town whose monthly means were entered before.")
@click.option("--months", default="", help='Its twelve monthly means, once: "23 degF, 27 degF, ..."')
@click.option("--work-done", callback=_day, help="Day of the work: did the fuel come back?")
@click.option("--since", callback=_day, help="When the owner noticed it.")
@click.option("--southern", is_flag=True, help="South of the equator.")
@click.option("--dates", type=click.Choice(tuple(DATE_ORDERS)), help="Where the file leaves it open.")
@click.option("--distance-in", type=click.Choice(("mi", "km")), help="Where the file names no unit.")
@click.option("--volume-in", type=click.Choice(("gal", "L", "imp_gal")), help="Where the file names no unit.")
@click.option("--temperature-in", type=click.Choice(("degF", "degC")), help="Where the file names no unit.")
@click.option("--column", "columns", multiple=True, callback=_columns, metavar="ROLE=HEADING", help=COLUMN_HELP)
@click.option("--confirm", type=int, multiple=True, metavar="LINE", help="Accept the correction proposed for a line.")
@click.option("--every-row", is_flag=True, help="List every row left out or mended.")
@click.option("--data", type=click.Path(path_type=Path, file_okay=False), help="Folder that keeps towns.")
@json_option
def command(
    log: Path,
    *,
    vehicle: Path | None,
    temperature: Path | None,
    town: str,
    months: str,
    work_done: date | None,
    since: date | None,
    southern: bool,
    dates: str | None,
    distance_in: str | None,
    volume_in: str | None,
    temperature_in: str | None,
    columns: tuple[tuple[str, str], ...],
    confirm: tuple[int, ...],
    every_row: bool,
    data: Path | None,
    as_json_text: bool,
) -> None:
    """Is the loss real, since when, how large, how sure; with --work-done, did the fuel come back.

    LOG is CSV, semicolons, tabs, JSON lines, .xlsx or .ods with date, odometer or distance, and volume. Every row
    left out or mended is listed with its rule.
    """
    from lostgallon.cli.fillups_view import draw  # noqa: PLC0415 - NumPy is slow to load
    from lostgallon.job.fillups import LogQuestion, judge_file  # noqa: PLC0415 - the same

    hints = FillHints(
        distance_unit=distance_in,
        volume_unit=volume_in,
        temperature_unit=temperature_in,
        date_order=DATE_ORDERS[dates] if dates else None,  # type: ignore[arg-type] # the words of DateOrder
        confirmed=confirm,
        columns=columns,
    )
    question = LogQuestion(
        log=log,
        vehicle=vehicle,
        temperature=temperature,
        town=town,
        months=months,
        work_done=work_done,
        since=since,
        southern=southern,
        hints=hints,
        folder=data or user_data_path("lostgallon"),
        calibrations=user_cache_path("lostgallon") / "calibrations",
    )
    judged = judge_file(question)
    show(
        judged.verdict,
        lambda console: draw(console, judged.log, judged.verdict, every_row=every_row),
        as_json_text=as_json_text,
    )
