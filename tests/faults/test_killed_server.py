"""The server killed without warning in the middle of syncs: what it acknowledged is in the log, once.

Phones keep sending over real connections while the process is killed at moments drawn by chance;
what they send again after each start is drawn by the same rules a phone follows: it forgets an entry
only after `accepted`.
"""

import http.client
import json
import random
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fallowside.store import integrity
from fallowside.store.database import at_folder
from tests.browser.server import FALLOWSIDE, LiveServer
from tests.logs import START, setups
from tests.stores import feed, logged

SYNCS, PHONES, KILLS = 200, 4, 24
MOST_ENTRIES = 60
SEED = 4711
KILLING_S, LONGEST_S = 55.0, 80.0
"""A busy machine starts servers slowly: after this long no more are killed, and the phones give up."""


class Phone(threading.Thread):
    """Sends calls until it has had its share of answers, over whatever the server leaves of the link."""

    def __init__(self, number: int, port: int, until: float) -> None:
        super().__init__(name=f"phone-{number}")
        self.port, self.until = port, until
        self.chance = random.Random(SEED + number)
        self.numbers = iter(range(number * 1_000_000, (number + 1) * 1_000_000))
        self.outbox: dict[str, Any] = {one["id"]: one for one in setups()}
        self.acknowledged: dict[str, Any] = {}
        self.answers = self.cut_off = self.calls = 0

    def run(self) -> None:
        while self.answers < SYNCS // PHONES and time.monotonic() < self.until:
            for _ in range(self.chance.randint(1, MOST_ENTRIES)):
                made = feed(next(self.numbers), at=START.isoformat())
                self.outbox[made["id"]] = made
            sending = dict(list(self.outbox.items())[:1000])
            try:
                accepted = self._sync(list(sending.values()))
            except (OSError, http.client.HTTPException, ValueError):
                self.cut_off += 1
                time.sleep(0.05)
                continue
            self.answers += 1
            for name in accepted:
                self.acknowledged[name] = sending[name]
                del self.outbox[name]

    def _sync(self, entries: list[Any]) -> list[str]:
        self.calls += 1
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


@pytest.fixture
def server(tmp_path: Path) -> Iterator[LiveServer]:
    made = LiveServer(tmp_path)
    made.start()
    yield made
    made.kill()


def test_no_acknowledged_entry_is_lost_or_doubled_by_killing_the_server_among_two_hundred_syncs(
    server: LiveServer,
) -> None:
    chance = random.Random(SEED)
    began = time.monotonic()
    until = began + LONGEST_S
    phones = [Phone(number, server.port, until) for number in range(1, PHONES + 1)]
    for phone in phones:
        phone.start()
    kills = 0
    while kills < KILLS and time.monotonic() < began + KILLING_S:
        time.sleep(chance.uniform(0.02, 0.35))
        server.kill()
        kills += 1
        server.start()
    for phone in phones:
        phone.join()
    server.kill()

    answers = sum(phone.answers for phone in phones)
    cut_off = sum(phone.cut_off for phone in phones)
    database = at_folder(server.data)
    entries = logged(database)
    report = integrity.check(database)
    database.close()
    print(f"{answers} answers, {cut_off} calls cut off, {kills} kills, {len(entries)} entries")
    assert report.sound, report.findings
    by_id = {one["id"]: one for one in entries}
    assert len(by_id) == len(entries)
    for phone in phones:
        assert phone.acknowledged
        assert all(by_id.get(name) == one for name, one in phone.acknowledged.items())
        assert not set(phone.acknowledged) & set(phone.outbox)
    # The test means something only if the server was killed while phones were at it, again and again.
    assert kills >= KILLS // 2
    assert cut_off > kills
    assert answers >= SYNCS // 2
    assert len(entries) > 10 * answers


def test_a_load_killed_halfway_is_finished_by_loading_again(tmp_path: Path) -> None:
    file = tmp_path / "entries.jsonl"
    entries = [*setups(), *map(feed, range(10_000))]
    file.write_text("".join(json.dumps(one) + "\n" for one in entries))
    data = tmp_path / "data"
    for wait_s in (0.8, 1.1, 1.4):
        loading = subprocess.Popen([FALLOWSIDE, "load", file, "--data", data], stdout=subprocess.DEVNULL)
        time.sleep(wait_s)
        loading.kill()
        loading.wait()
    subprocess.run([FALLOWSIDE, "load", file, "--data", data], stdout=subprocess.DEVNULL, check=True)
    database = at_folder(data)
    assert logged(database) == entries
    assert integrity.check(database).sound
    database.close()
