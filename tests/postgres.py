"""A PostgreSQL server of the tests' own: made in a scratch directory, gone at the end."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

import psycopg

HOW_TO_INSTALL = (
    "PostgreSQL was not found, on PATH or in /usr/lib/postgresql. On Debian: "
    "apt-get install postgresql; on macOS: brew install postgresql."
)

_SUPERUSER = "bench"

# It waits for the end of its input, which comes when the tests end, however they end, and then
# stops the server and removes its directory.
_KEEPER = 'cat >/dev/null; "$1" stop -D "$2/data" -m immediate -w >/dev/null 2>&1; rm -rf "$2"'


def find_binaries() -> Path | None:
    """Return the directory that holds ``postgres``, ``initdb`` and ``pg_ctl``, the newest."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"),
        key=lambda path: int(path.parent.name) if path.parent.name.isdigit() else 0,
        reverse=True,
    )
    if postgres := shutil.which("postgres"):
        found.insert(0, Path(postgres).resolve().parent)
    needed = ("postgres", "initdb", "pg_ctl")
    return next((path for path in found if all((path / name).is_file() for name in needed)), None)


@dataclass(frozen=True)
class Postgres:
    """A running server that trusts whoever reaches it: by loopback, or by a socket in ``scratch``.

    A database here is a schema with a role of the same name, whose search path leads to it: the
    role sees nothing of the others, and it takes a fraction of a millisecond to make, where
    ``CREATE DATABASE`` and dropping it again take 30 to 100 ms.
    """

    scratch: Path
    port: int
    _names: Iterator[int]

    def new_database(self) -> str:
        """Make an empty database; return its SQLAlchemy URL."""
        name = f"workshop_{next(self._names)}"
        with psycopg.connect(
            host="127.0.0.1", port=self.port, user=_SUPERUSER, dbname="postgres"
        ) as connection:
            connection.execute(f"CREATE ROLE {name} LOGIN")
            connection.execute(f"CREATE SCHEMA {name} AUTHORIZATION {name}")
        return f"postgresql+psycopg://{name}@127.0.0.1:{self.port}/postgres"


@contextmanager
def postgres_server(binaries: Path, *, fsync: bool = True) -> Iterator[Postgres]:
    """Start a server of PostgreSQL's ``binaries``; stop it and remove all of it at the end.

    ``fsync=False`` is faster, and loses what was written if the machine itself fails.
    """
    scratch = Path(tempfile.mkdtemp(prefix="bench-postgres-"))
    run_as = _other_user(scratch)
    keeper = subprocess.Popen(
        ["sh", "-c", _KEEPER, "keeper", str(binaries / "pg_ctl"), str(scratch)],
        stdin=subprocess.PIPE,
        cwd="/",
        start_new_session=True,
        **run_as,
    )
    try:
        yield Postgres(scratch, _start(binaries, scratch, fsync, run_as), count(1))
    finally:
        keeper.communicate()


def _other_user(scratch: Path) -> dict[str, Any]:
    """Return what makes a process not run as root, which PostgreSQL refuses."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return {}
    import pwd  # there is none on Windows

    names = {entry.pw_name for entry in pwd.getpwall()}
    entry = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
    os.chown(scratch, entry.pw_uid, entry.pw_gid)
    return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}


def _start(binaries: Path, scratch: Path, fsync: bool, run_as: dict[str, Any]) -> int:
    """Make the cluster and start its server; return its port."""

    def run(program: str, *arguments: str) -> str | None:
        done = subprocess.run(
            [str(binaries / program), "-D", str(scratch / "data"), *arguments],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,  # the server would keep a pipe open
            stderr=subprocess.PIPE if program == "initdb" else subprocess.DEVNULL,
            text=True,
            cwd=scratch,
            check=False,
            **run_as,
        )
        return None if done.returncode == 0 else (done.stderr or f"{program} failed")

    said = run(
        "initdb",
        f"--username={_SUPERUSER}",
        "--auth=trust",
        "--encoding=UTF8",
        "--locale=C",
        *([] if fsync else ["--no-sync"]),
    )
    if said:
        raise RuntimeError(f"PostgreSQL's initdb failed: {said}")
    log = scratch / "log"
    for _ in range(5):  # someone else may take the free port first
        port = _free_port()
        options = f"-h 127.0.0.1 -p {port} -k '{scratch}' -c fsync={'on' if fsync else 'off'}"
        if run("pg_ctl", "-w", "-l", str(log), "-o", options, "start") is None:
            return port
    raise RuntimeError(f"PostgreSQL did not start: {log.read_text() if log.exists() else ''}")


def _free_port() -> int:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        return int(listening.getsockname()[1])
