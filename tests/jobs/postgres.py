"""A PostgreSQL server of the tests' own: in a folder of its own, on a socket of its own, gone afterwards."""

from __future__ import annotations

import getpass
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

import psycopg
import pytest

MISSING = (
    "These tests need PostgreSQL's server programs, and there are none in /usr/lib/postgresql or on PATH. "
    "Type `make test`, or on Debian: apt-get install postgresql"
)


def programs() -> Path:
    """The folder with initdb and postgres, newest version first."""

    def version(path: Path) -> float:
        return float(path.parent.parent.name)

    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=version)
    on_path = shutil.which("initdb")
    if not found and on_path is None:
        pytest.fail(MISSING, pytrace=False)
    return (found[-1] if found else Path(str(on_path)).resolve()).parent


class Server:
    """One cluster. PostgreSQL refuses to run as root, so root starts it as the user ``postgres`` or ``nobody``."""

    def __init__(self) -> None:
        self.bin = programs()
        self.folder = Path(tempfile.mkdtemp(prefix="lw-pg-", dir="/tmp"))
        self.user = getpass.getuser()
        self.count = 0
        if os.geteuid() == 0:
            names = {p.pw_name for p in pwd.getpwall()}
            self.user = "postgres" if "postgres" in names else "nobody"
            shutil.chown(self.folder, self.user)
        data = f"{self.folder}/data"
        self.do("initdb", "-D", data, "-U", "loomwright", "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
        self.start()

    def do(self, program: str, *args: str) -> None:
        """Run one of the server's programs to its end."""
        command = [str(self.bin / program), *args]
        if os.geteuid() == 0:
            command = ["runuser", "-u", self.user, "--", *command]
        log = self.folder / "programs.log"
        with open(log, "ab") as out:  # a file, not a pipe: the server inherits it and would hold a pipe open
            code = subprocess.run(command, cwd=self.folder, stdout=out, stderr=out, check=False).returncode
        assert code == 0, f"{program} failed: {log.read_text()[-2000:]}"

    def start(self, sync: bool = False) -> None:
        """Start it and wait until it answers. Without ``sync`` it leaves writing to the disk to the system: quicker."""
        options = f"-c listen_addresses='' -c unix_socket_directories='{self.folder}' -c max_connections=80"
        options += "" if sync else " -c fsync=off"
        self.do("pg_ctl", "-D", f"{self.folder}/data", "-w", "-t", "60", "-o", options, "start")

    def fall(self) -> None:
        """Stop it at once, without a checkpoint, as a power cut would."""
        self.do("pg_ctl", "-D", f"{self.folder}/data", "-w", "-m", "immediate", "stop")

    def new_database(self) -> str:
        """URL of a new, empty database."""
        self.count += 1
        name = f"jobs{self.count}"
        with psycopg.connect(f"host={self.folder} user=loomwright dbname=postgres", autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}" STRATEGY file_copy')
        return f"postgresql://loomwright@/{name}?host={self.folder}"

    def close(self) -> None:
        """Stop it and take its folder away."""
        self.fall()
        shutil.rmtree(self.folder)
