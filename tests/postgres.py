"""A real PostgreSQL of the tests' own: started by the first test that asks, gone with the run."""

import os
import pwd
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from fallowside.store import database as databases
from fallowside.store import drivers

ROOT = Path(__file__).parents[1]
START_S = 60.0
ROLE = "fallowside"
UNPRIVILEGED = ("postgres", "nobody")
"""PostgreSQL will not run as root; then it runs as the first of these that the machine knows."""
MOST_CONNECTIONS = 300
UNTIL_WE_ARE_GONE = '"$0" "$@" & read -r _; kill -QUIT $!; wait'
"""The shell holds the other end of a pipe of ours: however our process ends, the database ends too."""


class Cluster:
    """A running PostgreSQL, reached through a socket in a folder of its own; no port, no password."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._made = 0
        self._template = ""

    def url(self, name: str) -> str:
        """Give the URL of a database."""
        return f"postgresql://{ROLE}@/{name}?host={quote(str(self.folder), safe='')}"

    def new(self, template: str = "template1") -> str:
        """Make a database and give its URL."""
        self._made += 1
        name = f"store_{self._made}"
        self._run(f"CREATE DATABASE {name} TEMPLATE {template}")
        return self.url(name)

    def store(self) -> str:
        """Make a database whose tables are made already, as most tests want it, and give its URL."""
        if not self._template:
            url = self.new()
            databases.at_url(url).close()
            self._template = f"store_{self._made}"
        return self.new(self._template)

    def drop(self, url: str) -> None:
        """Drop a database, whoever is still connected."""
        self._run(f"DROP DATABASE {url.split('/')[3].partition('?')[0]} WITH (FORCE)")

    def _run(self, statement: str) -> None:
        connection: Any = drivers.driver(self.url("postgres")).connect()
        try:
            connection.execute(statement)
        finally:
            connection.close()


def programs() -> Path:
    """Give the folder of PostgreSQL's programs, installed first where that can be."""
    found = subprocess.run(
        ["sh", ROOT / "server" / "tools" / "postgres.sh"], stdout=subprocess.PIPE, text=True, check=False
    )
    if found.returncode != 0:
        pytest.fail("no PostgreSQL here; on Debian, type: sudo apt-get install postgresql", pytrace=False)
    return Path(found.stdout.strip())


@contextmanager
def running(*, durable: bool = False) -> Iterator[Cluster]:
    """Run a PostgreSQL until the block ends.

    Args:
        durable: Whether commits wait for the disk, as they do for users. Processes that are killed
            lose nothing either way, so most tests go without.
    """
    bin_folder = programs()
    folder = Path(tempfile.mkdtemp(prefix="fallowside-postgres-"))
    who: dict[str, Any] = {"cwd": folder}
    if os.geteuid() == 0:
        user = _unprivileged()
        os.chown(folder, user.pw_uid, user.pw_gid)
        who |= {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    try:
        data = folder / "data"
        words = f"--username {ROLE} --auth trust --encoding UTF8 --locale C --no-sync --pgdata {data}"
        made = subprocess.run(
            [str(bin_folder / "initdb"), *words.split()], capture_output=True, check=False, **who
        )
        assert made.returncode == 0, made.stderr
        settings = {
            "listen_addresses": "",
            "unix_socket_directories": str(folder),
            "max_connections": str(MOST_CONNECTIONS),
        } | ({} if durable else {"fsync": "off", "full_page_writes": "off"})
        options = [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
        with (folder / "log").open("wb") as log:
            process = subprocess.Popen(
                ["sh", "-c", UNTIL_WE_ARE_GONE, bin_folder / "postgres", "-D", data, *options],
                stdin=subprocess.PIPE,
                stdout=log,
                stderr=log,
                **who,
            )
        try:
            cluster = Cluster(folder)
            _wait(cluster, process, folder / "log")
            yield cluster
        finally:
            assert process.stdin is not None
            process.stdin.close()
            process.wait()
    finally:
        shutil.rmtree(folder)


def _unprivileged() -> pwd.struct_passwd:
    known = {one.pw_name: one for one in pwd.getpwall()}
    return next(known[name] for name in UNPRIVILEGED if name in known)


def _wait(cluster: Cluster, process: "subprocess.Popen[bytes]", log: Path) -> None:
    driver = drivers.driver(cluster.url("postgres"))
    until = time.monotonic() + START_S
    while process.poll() is None and time.monotonic() < until:
        try:
            driver.connect().close()
        except driver.error:
            time.sleep(0.05)
        else:
            return
    raise RuntimeError(f"PostgreSQL did not start: {log.read_text()}")
