"""Runs the server on a data folder, and leaves a note there of where it listens."""

import asyncio
import gc
import json
import os
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO

import uvicorn
from fastapi import FastAPI

from fallowside.access.authority import is_of_a_home
from fallowside.api import pushing, trusting
from fallowside.api.app import build_app
from fallowside.api.home_certificate import HomeCertificate
from fallowside.api.pace import Pace
from fallowside.api.places import Places
from fallowside.remind import push
from fallowside.store.database import Database
from fallowside.store.errors import Occupied, Unreachable

try:
    import fcntl
except ImportError:  # a system without this kind of lock
    fcntl = None  # type: ignore[assignment]

_NOTE = "serving.json"
_PUSH_KEY = "push.pem"
_LOOPBACK = ("127.0.0.1", "::1", "localhost")
_NEAR_PROXY = "127.0.0.1,::1"
"""Whose forwarded headers are believed, unless FORWARDED_ALLOW_IPS says otherwise."""
_GOODBYE_S = 5
_OBJECTS_BEFORE_COLLECTING = 50_000


@dataclass(frozen=True, slots=True)
class Manner:
    """How a server is to be reached.

    Attributes:
        host: The address to listen on.
        port: The port; 0 takes any that is free.
        names: More names it is called by.
        behind_proxy: The name under which a proxy on this machine hands calls on; '' without one.
        home: Whether it makes its own certificate and serves https.
        sign_in: Whether callers need a session even where only this machine can reach it.
        push_contact: How push services reach whoever runs this; '' sends no messages to phones.
        places_under: The name under which each place of the database has its own; '' for one place.
    """

    host: str
    port: int
    names: tuple[str, ...] = ()
    behind_proxy: str = ""
    home: bool = False
    sign_in: bool = False
    push_contact: str = ""
    places_under: str = ""

    @property
    def open(self) -> bool:
        """Tell whether callers are let in without a session: nobody but this machine's people can call."""
        asked_for = self.sign_in or self.home or self.behind_proxy or self.names or self.places_under
        return not asked_for and self.host in _LOOPBACK


@dataclass(frozen=True, slots=True)
class Serving:
    """Where a server listens, and what phones call it."""

    host: str
    port: int
    pid: int
    addresses: list[str]
    """Its addresses for phones or for this machine's browser, best first."""
    trust_address: str = ""
    """Where a phone learns to trust its certificate, if it made that itself."""
    fingerprint: str = ""
    """Of the authority behind that certificate."""
    open: bool = True
    """Whether callers are let in without a session."""

    @property
    def near(self) -> bool:
        """Tell whether no other machine can reach it, unless something hands calls on."""
        return self.host in _LOOPBACK


def serve(folder: Path, database: Database, manner: Manner, started: Callable[[Serving], None]) -> None:
    """Serve until told to stop.

    Args:
        folder: The data folder, where the note is left.
        database: What to serve.
        manner: How to be reached.
        started: Hears where, once calls are taken.

    Raises:
        Occupied: another server serves this folder.
        Unreachable: an address can't be had.
    """
    names = [*manner.names, manner.host, *own_names()]
    names += [manner.behind_proxy] if manner.behind_proxy else []
    with ExitStack() as held:
        note = held.enter_context(_claimed(folder))
        listener = held.enter_context(_listening(manner.host, manner.port))
        port = int(listener.getsockname()[1])
        certificate = held.enter_context(_at_home(folder, manner, port)) if manner.home else None
        if certificate:
            names += certificate.files.names
        # Messages to phones are sent for one place only.
        key = push.own_key(folder / _PUSH_KEY) if manner.push_contact and not manner.places_under else None
        pace = None if manner.open else Pace()

        def build(of_place: Database, *more: str) -> FastAPI:
            return build_app(
                of_place,
                hosts=[*names, *more],
                sign_in=not manner.open,
                pace=pace,
                trust_address=certificate.trust_address if certificate else "",
                push_key=key,
            )

        app: FastAPI | Places = (
            Places(database, manner.places_under, build, pace) if manner.places_under else build(database)
        )
        if key is not None and isinstance(app, FastAPI):
            held.enter_context(pushing.ringing(app, database, key, manner.push_contact))
        config = uvicorn.Config(
            app,
            host=manner.host,
            log_level="warning",
            access_log=False,
            server_header=False,
            date_header=True,
            timeout_graceful_shutdown=_GOODBYE_S,
            proxy_headers=bool(manner.behind_proxy),
            forwarded_allow_ips=os.environ.get("FORWARDED_ALLOW_IPS", _NEAR_PROXY),
            ssl_certfile=certificate.files.certificate if certificate else None,
            ssl_keyfile=certificate.files.key if certificate else None,
        )
        serving = Serving(
            manner.host,
            port,
            os.getpid(),
            _addresses(manner, port),
            certificate.trust_address if certificate else "",
            certificate.files.fingerprint if certificate else "",
            manner.open,
        )
        _write(note, serving)
        _collect_seldom()
        _Server(config, lambda: started(serving), certificate).run(sockets=[listener])


class _Server(uvicorn.Server):
    """Says when it takes calls, and keeps its certificate fresh."""

    def __init__(
        self, config: uvicorn.Config, started: Callable[[], None], certificate: HomeCertificate | None
    ) -> None:
        super().__init__(config)
        self._started = started
        self._certificate = certificate
        self._renewing: asyncio.Task[None] | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            if self._certificate and self.config.ssl:
                self._renewing = asyncio.create_task(self._certificate.keep_fresh(self.config.ssl))
            self._started()


def _collect_seldom() -> None:
    """Look for circles of garbage seldom, and never among what lives as long as the server.

    A call of a thousand entries makes none, and would be searched for them again and again.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(_OBJECTS_BEFORE_COLLECTING, *gc.get_threshold()[1:])


@contextmanager
def _at_home(folder: Path, manner: Manner, port: int) -> Iterator[HomeCertificate]:
    """Serve, beside the app, the page that says how to trust its certificate."""
    certificate = HomeCertificate(
        folder / "certificates", lambda: [*manner.names, *own_addresses(), *own_names(), *_LOOPBACK]
    )
    wanted = manner.port + 1 if manner.port else 0
    with _listening(manner.host, wanted) as listener:
        certificate.trust_address = _urls("http", manner, int(listener.getsockname()[1]))[0]
        page = trusting.build_page(
            certificate.files.authority, certificate.files.fingerprint, _urls("https", manner, port)[0]
        )
        quiet = uvicorn.Config(
            page, log_level="error", access_log=False, server_header=False, proxy_headers=False
        )
        beside = uvicorn.Server(quiet)
        running = threading.Thread(target=beside.run, kwargs={"sockets": [listener]}, daemon=True)
        running.start()
        try:
            yield certificate
        finally:
            beside.should_exit = True
            running.join(_GOODBYE_S)


def _addresses(manner: Manner, port: int) -> list[str]:
    if manner.behind_proxy:
        return [f"https://{manner.behind_proxy}"]
    return _urls("https" if manner.home else "http", manner, port)


def _urls(scheme: str, manner: Manner, port: int) -> list[str]:
    hosts = [manner.host]
    if manner.host in ("0.0.0.0", "::"):
        hosts = own_addresses()
        if manner.home:
            hosts = [*filter(is_of_a_home, hosts), own_names()[-1]]
    return [f"{scheme}://{_bracketed(one)}:{port}" for one in (*manner.names, *hosts)]


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


def own_names() -> list[str]:
    """Give what this machine may be called in its network."""
    own = socket.gethostname().lower()
    bare = own.split(".", 1)[0]
    return [own, bare, f"{bare}.local"]


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
