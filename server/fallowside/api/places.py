"""Many places behind one address: `orchard.example.org` is the place `orchard` of the database.

Each place has an application of its own, made when it is first called and seeing nothing but that place;
those called last are kept. A name that isn't a place of the database is answered with 404, and whoever
asks for many such names is told to wait, before the database is asked.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable

from anyio import to_thread
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from fallowside.api import problems
from fallowside.api.guard import too_fast
from fallowside.api.pace import Pace
from fallowside.core.entries import is_name
from fallowside.store import log
from fallowside.store.database import Database

MOST_KEPT = 256
"""Applications of places kept at once."""


class Places:
    """Hands each call to the application of the place its host name begins with."""

    def __init__(
        self,
        database: Database,
        under: str,
        build: Callable[[Database, str], ASGIApp],
        pace: Pace | None = None,
        most: int = MOST_KEPT,
    ) -> None:
        """Serve the places of a database.

        Args:
            database: Open; holds the places.
            under: The name they are under: `example.org`.
            build: Makes the application of one place, called by one host name.
            pace: How many calls one source may make; without, as many as it likes.
            most: Applications kept at once.
        """
        self._database = database
        self._tail = "." + under.lower()
        self._build = build
        self._pace = pace
        self._most = most
        self._kept: OrderedDict[str, ASGIApp] = OrderedDict()
        self._turn = threading.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a call on to its place."""
        if scope["type"] != "http":
            # Nothing of an application starts or stops with the server.
            await _stand_by(receive, send)
            return
        host = Headers(scope=scope).get("host", "").rsplit(":", 1)[0].lower()
        name = host.removesuffix(self._tail)
        named = name != host and is_name(name)
        app = self._last(name) if named else None
        if app is None and named:
            app = too_fast(self._pace, scope) or await to_thread.run_sync(self._found, name, host)
        if app is None:
            app = problems.answer(404, "no_place", f"no place is called {host!r} here")
        await app(scope, receive, send)

    def _last(self, name: str) -> ASGIApp | None:
        with self._turn:
            if name in self._kept:
                self._kept.move_to_end(name)
            return self._kept.get(name)

    def _found(self, name: str, host: str) -> ASGIApp | None:
        database = self._database.of_place(name)
        with database.read() as hand:
            if log.place_number(hand) is None:
                return None
        # Built before the turn is taken, which calls of every other place wait for.
        built = self._build(database, host)
        with self._turn:
            found = self._kept.setdefault(name, built)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
            return found


async def _stand_by(receive: Receive, send: Send) -> None:
    while True:
        message = await receive()
        await send({"type": message["type"] + ".complete"})
        if message["type"] == "lifespan.shutdown":
            return
