"""What is measured: the rooms in order, the bar of each figure, and the yardsticks that ratios compare with."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Room:
    """One benchmark.

    Attributes:
        name: Its module in this folder.
        most_s: Longest time it may take before it is given up. [s]
    """

    name: str
    most_s: float = 240.0


ROOMS = (
    Room("commands"),
    Room("physics"),
    Room("fillups"),
    Room("account"),
    Room("plan"),
    Room("drive"),
    Room("pages", 480.0),
    Room("paper"),
    Room("store"),
    Room("port"),
    Room("fleet", 600.0),
)

BARS = {
    "commands.account.first_s": "≤ 6",
    "commands.account.then_s": "≤ 2",
    "commands.fillups, 700 tanks.first_s": "≤ 2",
    "commands.help.then_s": "≤ 0.3",
    "commands.predict.first_s": "≤ 4",
    "commands.predict.then_s": "≤ 1.5",
    "commands.tires.then_s": "≤ 0.6",
    "physics.batch_over_reference": "≥ 1500",
    "physics.one_over_reference": "≥ 100",
    "physics.two_threads_over_one": "≥ 1.7",
    "fillups.fills_60_cpu_ms": "≤ 2",
    "fillups.fills_700_cpu_ms": "≤ 10",
    "fillups.times_faster_than_statsmodels": "≥ 500",
    "fillups.cold_process_to_verdict_s": "≤ 1",
    "account.4096 draws.account.processor_s": "≤ 0.05",
    "account.4096 draws.finding_and_worth_s": "≤ 0.2",
    "account.16384 draws.letter_grade_s": "≤ 1",
    "account.peak_memory_mb": "≤ 400",
    "plan.whole_s_most": "≤ 1",
    "plan.first_s_most": "≤ 0.2",
    "plan.after_entry_s_most": "≤ 0.5",
    "drive.times_polars": "≤ 3",
    "drive.peak_memory_mb": "≤ 1000",
    "paper.letter_s": "≤ 0.5",
    "paper.letters_a_minute_on_two_cores": "≥ 100",
    "pages.page_p95_ms": "≤ 80",
    "pages.entry_saved_p95_ms": "≤ 200",
    "pages.account_refreshed_p95_s": "≤ 1",
    "pages.account_refreshed_20_p95_s": "≤ 5",
    "pages.first_page_s": "≤ 1.5",
    "pages.page_weight_kb": "≤ 250",
    "fleet.2_workers_wall_s": "≤ 60",
    "fleet.memory_2_workers_gb": "≤ 4",
    "fleet.times_faster_than_statsmodels": "≥ 1000",
    "fleet.2_workers_over_one": "≥ 1.6",
}
"""What each room was asked to reach, in the unit that the figure's name ends with."""

YARDSTICKS = {
    "commands.help.times_bare_python": "starting Python and ending it",
    "physics.batch_over_reference": "the reference vehicle model, one schedule at a time as it works",
    "physics.one_over_reference": "the same, against one schedule of ours",
    "physics.two_threads_over_one": "one thread",
    "physics.compiled_over_numpy": "the same loop in NumPy, 2048 draws",
    "fillups.times_faster_than_statsmodels": "a statsmodels GLS loop over the same grid",
    "fillups.times_faster_than_statsmodels_in_a_batch": "the same loop, against a log in a batch",
    "account.4096 draws.from_nothing_over_a_finding_more": "weighing from nothing, against one finding more",
    "plan.after_entry_over_whole": "a plan from nothing",
    "drive.times_polars": "polars reading the same file alone",
    "pages.page_times_static_file": "a file without any work from the same server",
    "paper.letter_times_empty_page": "an empty page set by the same typesetter",
    "store.entry saved.ratio": "a bare write of 4 kB, synced",
    "port.answer_50_ms_6_in_one.share_of_back_to_back": "answers back to back at the vehicle's own answer time",
    "fleet.times_faster_than_statsmodels": "a statsmodels GLS loop over the same grid",
    "fleet.2_workers_over_one": "one worker",
}
"""The figures that are ratios to something else in the same run, and what that is."""


def met(value: float, bar: str) -> bool:
    """Whether a figure keeps its bar."""
    sign, _, edge = bar.partition(" ")
    return value <= float(edge) if sign == "≤" else value >= float(edge)
