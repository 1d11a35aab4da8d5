"""Draws the pictures of README and docs from the demo visits: python -m tools.pictures (needs pdftoppm)."""

import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

from lostgallon.job.account import LETTER_DRAWS, Asked, account_of
from lostgallon.paper.letter import write_letter
from lostgallon.readers.case import read_case

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "src" / "lostgallon" / "data" / "demo"
PICTURES = ROOT / "docs" / "pictures"
DOTS_PER_INCH = "88"


def draw_letter(name: str) -> Path:
    """The owner's letter of one demo visit as a picture of its page."""
    case = read_case(DEMO / f"{name}.toml")
    picture = PICTURES / f"letter-{name}"
    with TemporaryDirectory() as folder:
        letter = Path(folder) / "letter.pdf"
        write_letter(account_of(case, Asked(draws=LETTER_DRAWS)), case, letter)
        command = ["pdftoppm", "-r", DOTS_PER_INCH, "-f", "1", "-singlefile", "-png", str(letter), str(picture)]
        subprocess.run(command, check=True)
    return picture.with_suffix(".png")


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    for visit in ("two-faults", "winter-only"):
        print(draw_letter(visit).relative_to(ROOT))
