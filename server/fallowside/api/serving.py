"""Runs the server on a data folder, and leaves a note there of where it listens."""

import json
import os
import socket
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO

import uvicorn

from fallowside.api.app import build_app
from fallowside.store.database import Database
from fallowside.store.errors import Occupied, Unreachable

try:
    import fcntl
except ImportError:  # a system without this kind of lock
    fcntl = None  # type: ignore[assignment]

_NOTE = "serving.json"
_LOOPBACK = ("127.0.0.1", "::1", "localhost")
_GOODBYE_S = 5


@dataclass(frozen=True, slots=True)
class Serving:
    """Where a server listens."""

    host: str
    port: int
    pid: int

    @property
    def only_this_machine(self) -> bool:
        """Tell whether no other machine can reach it."""
        return self.host in _LOOPBACK

    def urls(self) -> list[str]:
        """Give its addresses, best first."""
        if self.host not in ("0.0.0.0", "::"):
            return [f"http://{_bracketed(self.host)}:{self.port}"]
        return [f"http://{_bracketed(one)}:{self.port}" for one in own_addresses()]


def serve(
    folder: Path,
    database: Database,
    host: str,
    port: int,
    hosts: Sequence[str],
    started: Callable[[Serving], None],
) -> None:
    """Serve until told to stop.

    Args:
        folder: The data folder, where the note is left.
        database: What to serve.
        host: The address to listen on.
        port: The port; 0 takes any that is free.
        hosts: More names the server is called by.
        started: Hears where, once calls are taken.

    Raises:
        Occupied: another server serves this folder.
        Unreachable: the address can't be had.
    """
    app = build_app(database, hosts=[*hosts, host])
    config = uvicorn.Config(
        app,
        host=host,
        port=port,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=True,
        timeout_graceful_shutdown=_GOODBYE_S,
    )
    with _claimed(folder) as note, _listening(host, port) as listener:
        serving = Serving(host, listener.getsockname()[1], os.getpid())
        _write(note, serving)
        _Server(config, lambda: started(serving)).run(sockets=[listener])


class _Server(uvicorn.Server):
    """Says when it takes calls."""

    def __init__(self, config: uvicorn.Config, started: Callable[[], None]) -> None:
        super().__init__(config)
        self._started = started

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            self._started()


def serving(folder: Path) -> Serving | None:
    """Find the server that serves a data folder, or None."""
    try:
        with (folder / _NOTE).open("r+") as note:
            if _lock(note):
                return None
            return Serving(**json.load(note))
    except (OSError, ValueError, TypeError):
        return None


@contextmanager
def unserved(folder: Path) -> Iterator[None]:
    """Keep servers out of a folder for a while.

    Raises:
        Occupied: one is in it.
    """
    with _claimed(folder):
        yield


def own_addresses() -> list[str]:
    """Give the addresses of this machine that its network may reach, best first; asks nobody."""
    found: list[str] = []
    for family, elsewhere in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        # Connecting a datagram socket sends nothing; it only picks the address a call would leave by.
        with socket.socket(family, socket.SOCK_DGRAM) as asking:
            try:
                asking.connect((elsewhere, 9))
                found.append(str(asking.getsockname()[0]))
            except OSError:
                continue
    return found or ["127.0.0.1"]


@contextmanager
def _claimed(folder: Path) -> Iterator[IO[str]]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        note = (folder / _NOTE).open("a+")
    except OSError as error:
        raise Unreachable(f"the data folder {folder} can't be used: {error.strerror}") from error
    with note:
        if not _lock(note):
            raise Occupied(f"a server is running on {folder}; stop it first")
        try:
            yield note
        finally:
            note.truncate(0)


def _lock(note: IO[str]) -> bool:
    """Take the lock of a note for as long as it is open; the system lets go of it if we die."""
    if fcntl is None:
        return True
    try:
        fcntl.flock(note, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _write(note: IO[str], serving: Serving) -> None:
    note.truncate(0)
    json.dump(asdict(serving), note)
    note.flush()


@contextmanager
def _listening(host: str, port: int) -> Iterator[socket.socket]:
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        listener = socket.socket(family, kind)
    except OSError as error:
        raise _no_address(host, port, error) from error
    with listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind(address)
        except OSError as error:
            raise _no_address(host, port, error) from error
        yield listener


def _no_address(host: str, port: int, error: OSError) -> Unreachable:
    return Unreachable(f"{host} port {port} can't be had ({error.strerror}); choose another: --port")


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
