"""A base install has no python-can: everything else works, and the port says in one line how to get it."""

import os
import subprocess
import sys
import textwrap

import pytest

WITHOUT = """
import sys

class Missing:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in ("can", "isotp"):
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return None

sys.meta_path.insert(0, Missing())
"""


def ran(body):
    code = textwrap.dedent(WITHOUT) + textwrap.dedent(body)
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, env=paths)


def test_one_line_says_how_to_install_it():
    done = ran("""
        sys.argv = ["lostgallon", "drive", "--from-port", "can0"]
        from lostgallon.cli import main
        main()
    """)
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        "lostgallon: reading the port needs its optional extra: pip install 'lostgallon[port]'"
    ]


@pytest.mark.parametrize(
    "module", ["lostgallon.cli.drive", "lostgallon.job.port", "lostgallon.web.app", "lostgallon.job.account"]
)
def test_the_base_program_never_imports_it(module):
    done = ran(f"""
        import importlib
        importlib.import_module({module!r})
        loaded = [name for name in sys.modules if name.partition(".")[0] in ("can", "isotp") or name.startswith("lostgallon.port")]
        assert not loaded, loaded
    """)
    assert done.returncode == 0, done.stderr
