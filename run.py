"""Set up and run Lost Gallon on a machine that has only Python 3.11 or later.

python3 run.py              set up, run the main job on a built-in visit, say where the letter is; in a terminal, then
                            keep the invented shop open in the browser until it is stopped
python3 run.py test         set up, run the tests
python3 run.py set-up       set up for development and stop
python3 run.py ARGUMENTS    set up, run `lostgallon ARGUMENTS`
"""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
CASE = ROOT / "src" / "lostgallon" / "data" / "demo" / "two-faults.toml"
LETTER = ROOT / "out" / "letter.pdf"


def set_up(lock: Path) -> None:
    """Make the environment that a lock file names; do nothing where it is already made."""
    done = VENV / f"{lock.stem}.done"
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    if done.exists() and done.read_text("utf-8") == wanted:
        return
    print(f"Setting up from {lock.name} (once, a few minutes) ...", flush=True)
    if not PYTHON.exists():
        venv.create(VENV, with_pip=True)
    pip = [str(PYTHON), "-m", "pip", "--quiet", "--disable-pip-version-check", "install"]
    # Only wheels: a fresh machine has no compiler.
    subprocess.run([*pip, "--only-binary", ":all:", "--requirement", str(lock)], check=True)
    subprocess.run([*pip, "--no-deps", "--no-build-isolation", "--editable", str(ROOT)], check=True)
    done.write_text(wanted, "utf-8")


def main(arguments: list[str]) -> int:
    """Do what the arguments say; returns the exit status."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this script meets whatever Python is there
        print(f"Python {sys.version.split()[0]} is too old: Lost Gallon needs 3.11 or later.", file=sys.stderr)
        return 2
    develop = arguments[:1] in (["test"], ["set-up"])
    try:
        set_up(ROOT / ("requirements-test.lock" if develop else "requirements.lock"))
    except subprocess.CalledProcessError as failed:
        print(
            f"The set-up stopped: {' '.join(map(str, failed.cmd[1:6]))} ... ended with {failed.returncode}.",
            file=sys.stderr,
        )
        return 1
    if arguments[:1] == ["set-up"]:
        return 0
    if arguments[:1] == ["test"]:
        return subprocess.run([PYTHON, "-m", "pytest", "-n", "auto", *arguments[1:]], cwd=ROOT, check=False).returncode
    if arguments:
        return subprocess.run([PYTHON, "-m", "lostgallon", *arguments], check=False).returncode
    LETTER.parent.mkdir(exist_ok=True)
    command: list[str | Path] = [PYTHON, "-m", "lostgallon", "account", CASE, "--letter", LETTER]
    status = subprocess.run(command, check=False).returncode
    if status or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return status
    try:
        return subprocess.run([PYTHON, "-m", "lostgallon", "demo"], check=False).returncode
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
