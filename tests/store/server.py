"""A throw-away PostgreSQL server."""

import os
import shutil
import subprocess
import tempfile
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

    def url(self, name="postgres"):
        return f"postgresql://shop@/{name}?host={self.folder}"

    def new_database(self, name, template="template1"):
        engine = create_engine(self.url().replace("postgresql:", "postgresql+psycopg:"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {template}"))
        engine.dispose()
        return self.url(name)
