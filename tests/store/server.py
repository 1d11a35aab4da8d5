"""A throw-away PostgreSQL server."""

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path

from sqlalchemy import create_engine, text


def server_programs():
    """The folder with initdb and pg_ctl, or None."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


class Server:
    """PostgreSQL in a temporary folder, reached by a socket in it. It refuses to run as root; then it runs as postgres."""

    def __init__(self, *settings):
        self.folder = Path(tempfile.mkdtemp(prefix="pg"))
        self.programs, self.settings = server_programs(), settings
        self.user = "postgres" if os.geteuid() == 0 else None
        if self.user:
            shutil.chown(self.folder, self.user)
        self.run("initdb", "--auth=trust", "--username=shop", "--encoding=UTF8", "--no-sync", "--locale=C")
        self.start()

    def run(self, program, *arguments):
        command = [self.programs / program, "-D", self.folder / "data", *arguments]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, user=self.user, cwd="/")

    def start(self):
        settings = f"-c listen_addresses= -k {self.folder} {' '.join(self.settings)}"
        self.run("pg_ctl", "start", "-w", "-l", self.folder / "log", "-o", settings)

    def stop(self, mode="fast"):
        self.run("pg_ctl", "stop", "-m", mode)

    def kill(self):
        """kill -9 of the server and every process it started, as a pulled plug would."""
        postmaster = int((self.folder / "data" / "postmaster.pid").read_text("ascii").split()[0])
        os.kill(postmaster, signal.SIGKILL)
        while left := self._processes():
            for process in left:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(process, signal.SIGKILL)
            time.sleep(0.01)
        # Where nothing reaps the dead they stay in the list, and the server would take them for living ones.
        for left_over in (self.folder / "data" / "postmaster.pid", *self.folder.glob(".s.PGSQL.*")):
            left_over.unlink(missing_ok=True)

    def _processes(self):
        """The living processes of this server: those that work in its data folder."""
        found = []
        for working_in in Path("/proc").glob("[0-9]*/cwd"):
            with contextlib.suppress(OSError):
                if working_in.readlink() == self.folder / "data":
                    found.append(int(working_in.parent.name))
        return found

    def url(self, name="postgres"):
        return f"postgresql://shop@/{name}?host={self.folder}"

    def new_database(self, name, template="template1"):
        engine = create_engine(self.url().replace("postgresql:", "postgresql+psycopg:"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {template}"))
        engine.dispose()
        return self.url(name)
