"""The certificate of a server at home, renewed while it runs."""

import asyncio
import ssl
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path

from fallowside.access import authority
from fallowside.access.authority import Certificate

_LOOK_S = 3600
"""How often it is looked at."""


class HomeCertificate:
    """A certificate in a folder, for the names and addresses the machine has at the moment."""

    def __init__(
        self,
        folder: Path,
        names: Callable[[], Sequence[str]],
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._folder, self._names, self._now = folder, names, now
        self.files: Certificate = self._fresh()
        self.trust_address = ""
        """Where the page is that says how to trust it."""

    async def keep_fresh(self, context: ssl.SSLContext, every_s: float = _LOOK_S) -> None:
        """Look now and then whether it must be renewed, or the machine has a new address."""
        while True:
            await asyncio.sleep(every_s)
            self.files = await asyncio.to_thread(self._fresh)
            if self.files.renewed:
                context.load_cert_chain(self.files.certificate, self.files.key)

    def _fresh(self) -> Certificate:
        return authority.certificate(self._folder, self._names(), self._now())
