"""The server killed again and again in the middle of syncs; what it acknowledged is in the log, once.

Phones keep sending over real connections while the process is killed at moments drawn by chance; what
they send again after each start follows the phone's rule: an entry is forgotten only after `accepted`.

    python -m tests.faults.killing [--kills 500] [--database sqlite|postgresql] [--seed 4711]
"""

import argparse
import http.client
import json
import random
import sys
import tempfile
import threading
import time
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fallowside.store import integrity
from tests import postgres
from tests.faults.born import BornServer
from tests.logs import START, setups
from tests.stores import feed, logged

PHONES = 4
MOST_ENTRIES = 40
SEED = 4711
LIFE_S = (0.01, 0.12)
"""How long a server lives after its first answer."""
REST_S, CUT_OFF_S = 0.01, 0.05


class Phone(threading.Thread):
    """Sends calls until told to stop, over whatever the server leaves of the link."""

    def __init__(self, number: int, port: int, seed: int) -> None:
        super().__init__(name=f"phone-{number}")
        self.port = port
        self.chance = random.Random(seed + number)
        self.numbers = iter(range(number * 10_000_000, (number + 1) * 10_000_000))
        self.outbox: dict[str, Any] = {one["id"]: one for one in setups()}
        self.acknowledged: dict[str, Any] = {}
        self.answers = self.cut_off = 0
        self.stop = threading.Event()

    def run(self) -> None:
        while not self.stop.is_set():
            for _ in range(self.chance.randint(1, MOST_ENTRIES) - len(self.outbox)):
                made = feed(next(self.numbers), at=START.isoformat())
                self.outbox[made["id"]] = made
            sending = dict(self.outbox)
            try:
                accepted = self._sync(list(sending.values()))
            except (OSError, http.client.HTTPException, ValueError):
                self.cut_off += 1
                time.sleep(CUT_OFF_S)
                continue
            self.answers += 1
            for name in accepted:
                self.acknowledged[name] = sending[name]
                del self.outbox[name]
            time.sleep(self.chance.uniform(0, REST_S))

    def _sync(self, entries: list[Any]) -> list[str]:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        try:
            sent = json.dumps({"device": self.name, "cursor": 2**40, "log": None, "entries": entries})
            link.request("POST", "/api/sync", sent.encode())
            answer = link.getresponse()
            heard = answer.read()
            if answer.status != 200:
                raise ValueError(heard)
            accepted: list[str] = json.loads(heard)["accepted"]
            return accepted
        finally:
            link.close()


@dataclass(frozen=True)
class Found:
    """What came of it; `faults` says what should not have."""

    kills: int
    answers: int
    cut_off: int
    acknowledged: int
    entries: int
    faults: tuple[str, ...]


def kill_again_and_again(
    server: BornServer, kills: int, seed: int = SEED, longest_s: float = float("inf")
) -> Found:
    """Kill a server under load as often as asked, then compare what was promised with what is there.

    A busy machine starts servers slowly: after `longest_s` no more are killed.
    """
    until = time.monotonic() + longest_s
    chance = random.Random(seed)
    server.start()
    phones = [Phone(number, server.port, seed) for number in range(1, PHONES + 1)]
    for phone in phones:
        phone.start()
    done = 0
    while done < kills and time.monotonic() < until:
        time.sleep(chance.uniform(*LIFE_S))
        server.kill()
        server.start()
        done += 1
    time.sleep(1.0)
    for phone in phones:
        phone.stop.set()
    for phone in phones:
        phone.join()
    server.kill()
    return _compared(server, phones, done)


def _compared(server: BornServer, phones: list[Phone], kills: int) -> Found:
    database = server.settings.open_database()
    entries = logged(database)
    report = integrity.check(database)
    database.close()
    by_id = {one["id"]: one for one in entries}
    faults = list(report.findings)
    if len(by_id) != len(entries):
        faults.append(f"{len(entries) - len(by_id)} entries are there twice")
    for phone in phones:
        lost = [name for name, one in phone.acknowledged.items() if by_id.get(name) != one]
        if lost:
            faults.append(f"{len(lost)} acknowledged entries of {phone.name} are lost, such as {lost[0]}")
        if not phone.acknowledged:
            faults.append(f"{phone.name} never got an answer")
    return Found(
        kills,
        sum(phone.answers for phone in phones),
        sum(phone.cut_off for phone in phones),
        sum(len(phone.acknowledged) for phone in phones),
        len(entries),
        tuple(faults),
    )


def main() -> int:
    """Kill as often as the command line says, and print what came of it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--database", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--seed", type=int, default=SEED)
    chosen = parser.parse_args()
    with ExitStack() as closing:
        folder = Path(closing.enter_context(tempfile.TemporaryDirectory()))
        url = ""
        if chosen.database == "postgresql":
            url = closing.enter_context(postgres.running(durable=True)).new()
        found = kill_again_and_again(BornServer(folder / "data", url), chosen.kills, chosen.seed)
    print(f"{chosen.database}, seed {chosen.seed}: {found}")
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
