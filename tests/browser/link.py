"""A bad link between a phone and its server: slow, and cut in the middle of whatever is under way."""

import socket
import struct
import time
from contextlib import suppress
from threading import Lock, Thread

PIECE, PAUSE_S = 400, 0.01
"""So many bytes go through at once, and then none for so long: a call takes a tenth of a second or two."""
AT_ONCE = struct.pack("ii", 1, 0)
"""Linger for no time: closing a connection resets it, as if the other end had gone (socket(7))."""


class BadLink:
    """Passes on to a port of this machine what comes to a port of its own, while there is signal."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._door = socket.create_server(("127.0.0.1", 0))
        self.url = f"http://127.0.0.1:{self._door.getsockname()[1]}"
        self._open: set[socket.socket] = set()
        self._lock = Lock()
        self._signal = True
        Thread(target=self._let_in, daemon=True).start()

    def cut(self) -> None:
        """Lose the signal: every connection ends where it is, and there are no new ones."""
        with self._lock:
            self._signal = False
            for end in self._open:
                self._drop(end)
            self._open.clear()

    def mend(self) -> None:
        """Have signal again."""
        self._signal = True

    def close(self) -> None:
        """End for good."""
        self.cut()
        self._door.close()

    def _let_in(self) -> None:
        while True:
            try:
                phone, _ = self._door.accept()
            except OSError:
                return
            try:
                server = socket.create_connection(("127.0.0.1", self._to))
            except OSError:
                self._drop(phone)
                continue
            with self._lock:
                if self._signal:
                    self._open |= {phone, server}
            for one, other in ((phone, server), (server, phone)):
                Thread(target=self._pass_on, args=(one, other), daemon=True).start()

    def _pass_on(self, one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError):
            while self._signal and (piece := one.recv(PIECE)):
                other.sendall(piece)
                time.sleep(PAUSE_S)
        with self._lock:
            self._open -= {one, other}
        self._drop(one)
        self._drop(other)

    @staticmethod
    def _drop(end: socket.socket) -> None:
        with suppress(OSError):
            end.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, AT_ONCE)
            end.shutdown(socket.SHUT_RDWR)
        end.close()
