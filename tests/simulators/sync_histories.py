"""Whole histories of sync from a seed: virtual time, network, clocks and disks, and the real server code.

Twenty phones make entries, set things up, mend and take back, for a month of virtual time; calls are lost,
doubled, cut and late, answers too; phones are evicted and killed, clocks are off by up to ten years and
jump; the server's disk fails, fills up, its process dies at any statement, its last backup is put back.
Then the network heals, and every promise is compared with what is there. Equal seeds give equal histories.

    python -m tests.simulators.sync_histories [--histories 100000] [--seed 0] [--tell]
"""

import argparse
import heapq
import multiprocessing
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from itertools import chain, count
from random import Random
from typing import Any

import msgspec

from fallowside.core import entries as core_entries
from fallowside.core import place, plan
from tests.logs import kg, setups
from tests.simulators.virtual_phone import TAKEN, Disk, Raw
from tests.simulators.virtual_server import VirtualServer

PHONES, ACTIONS = 20, 60
SPAN_S, DELAY_S, TIMEOUT_S = 30 * 86_400.0, 40.0, 60.0
YEAR_S = 365.25 * 86_400
BEGIN = datetime(2026, 6, 1, tzinfo=UTC)
BEGIN_US = core_entries.moment(BEGIN.isoformat()).us
SETUPS: list[Raw] = [
    {**one, "at": BEGIN.isoformat()} for one in setups() if one["item"] in ("place", "bed", "ana")
]
POOL = "shared-"
"""Ids that several phones draw begin so."""
ROUNDS = 12
LATER_S = 11 * YEAR_S
PLANNED_EVERY = 1000
"""In one of so many histories whole plans are compared, else the folded set-up: every history compares the
logs themselves, and that equal logs have equal plans is tested elsewhere, without phones."""
CHUNK = 50
"""Seeds a process takes at once."""

_write, _read = msgspec.json.encode, msgspec.json.decode


class Wrong(AssertionError):
    """A history that ended as none may."""


class Phone:
    """A phone, the person with it, and its clock."""

    def __init__(self, name: str, off_s: float) -> None:
        self.name, self.off_s = name, off_s
        self.disk = Disk()
        self.busy: int | None = None
        self.sent: list[tuple[int, Raw]] = []
        self.let_go: set[str] = set()
        self.drawn: set[str] = set()
        """Ids out of the pool that it used: two phones may draw one, but no phone draws its own again."""
        self.wanted: dict[str, Raw] = {}
        """What the person made and never took away, by id."""

    def is_at_rest(self, log_name: str, last_seq: int) -> bool:
        """Tell whether it has seen the whole log and has nothing to send."""
        mark = self.disk.mark
        return (mark.log, mark.cursor) == (log_name, last_seq) and not self.disk.unsent(1)


class History:
    """One history. `faults` says what went wrong; an empty list is what we want."""

    def __init__(self, seed: int, tell: Callable[[str], None] = lambda line: None) -> None:
        self.seed, self.tell = seed, tell
        self.chance = Random(seed)
        self.now_s = 0.0
        self.server = VirtualServer()
        self.numbers, self.calls = count(), count()
        self.events: list[tuple[float, int, Callable[[], None]]] = []
        self.ties = count()
        self.phones = [Phone(f"phone-{n}", self._clock()) for n in range(PHONES)]
        self.promised: dict[str, Raw] = {}
        self.backup: tuple[bytes, dict[str, Raw]] | None = None
        self.bad_link = self.chance.choice((0.05, 0.25, 0.6))
        self.healed = False

    def run(self) -> None:
        """Live through it, and compare at the end."""
        for one in SETUPS:
            self._make(self.phones[0], one)
        for _ in range(ACTIONS):
            self._later(self.chance.uniform(0, SPAN_S), self._act)
        self._live()
        self._heal()
        self._compare()
        # What was dated in the future by a wrong clock has become past; nothing is to wait for it now.
        self.now_s += LATER_S
        for phone in self.phones:
            phone.off_s = 0.0
        self._heal()
        self._compare()
        self._compare_folds()

    # -- what happens --------------------------------------------------------------------------------

    def _act(self) -> None:
        phone = self.chance.choice(self.phones)
        acts = (
            (self._note, 26),
            (self._send, 40),
            (self._set_up, 6),
            (self._correct, 4),
            (self._mend, 6),
            (self._evict, 2),
            (self._die, 3),
            (self._jump, 4),
            (self._start_app, 3),
            (self._hurt_server, 6),
        )
        act = self.chance.choices([one for one, _ in acts], [weight for _, weight in acts])[0]
        self.tell(f"{self.now_s:12.1f} {phone.name} {act.__name__.strip('_')}")
        act(phone)

    def _note(self, phone: Phone) -> None:
        for _ in range(self.chance.randint(1, 4)):
            # One in twelve takes an id out of a small pool: it will collide.
            drawn = self.chance.random()
            name = f"{POOL}{self.chance.randrange(4)}" if drawn < 0.08 else f"e{next(self.numbers):05d}"
            if name in phone.drawn:
                continue
            if drawn < 0.08:
                phone.drawn.add(name)
            amount = kg(-1.0 if drawn > 0.95 else round(self.chance.uniform(0.1, 3), 2))
            station = "trough" if 0.9 < drawn < 0.95 else "bed"
            made = {
                "id": name,
                "kind": "feed",
                "at": self._clock_time(phone),
                "by": "ana",
                "station": station,
            }
            self._make(phone, {**made, "side": "a", "feedstock": "bread", "amount": amount})
        if self.chance.random() < 0.7:
            self._send(phone)

    def _set_up(self, phone: Phone) -> None:
        """Change the same few things as others do, or set up the station some entries wait for."""
        item = "trough" if self.chance.random() < 0.3 else "bed"
        fields = {"type": "bed", "name": f"{item} of {phone.name}", "order": self.chance.randrange(5)}
        made = {
            "id": f"s{next(self.numbers):05d}",
            "kind": "setup",
            "at": self._clock_time(phone),
            "by": "ana",
        }
        self._make(phone, {**made, "what": "station", "item": item, "set": fields})

    def _correct(self, phone: Phone) -> None:
        of = self.chance.choice(sorted(phone.disk.log()) or ["nothing"])
        made = {
            "id": f"c{next(self.numbers):05d}",
            "kind": "correction",
            "at": self._clock_time(phone),
            "of": of,
        }
        self._make(phone, {**made, "by": "ana", "action": "retract"})

    def _mend(self, phone: Phone) -> None:
        """Mend what is held: a good amount, or, where the id is taken, a new id for it."""
        for name, one in list(phone.disk.held.items()):
            entry = one["entry"]
            if one["code"] == TAKEN:
                phone.wanted.pop(name, None)
                phone.let_go.add(name)
                self._make(phone, {**entry, "id": f"m{next(self.numbers):05d}"})
            elif one["code"] == "out_of_range":
                self._make(phone, {**entry, "amount": kg(1)})

    def _evict(self, phone: Phone) -> None:
        self.phones[self.phones.index(phone)] = Phone(f"phone-{next(self.numbers)}-anew", self._clock())

    def _die(self, phone: Phone) -> None:
        phone.busy = None

    def _jump(self, phone: Phone) -> None:
        phone.off_s = self._clock()

    def _start_app(self, phone: Phone) -> None:
        phone.busy = None
        phone.disk.gather()

    def _hurt_server(self, _: Phone) -> None:
        match self.chance.randrange(5):
            case 0:
                self.server.start()
            case 1:
                self.server.trouble.full = not self.server.trouble.full
            case 2 if self.backup is not None and self.chance.random() < 0.5:
                self._restore(*self.backup)
            case 2 | 3:
                self.backup = self.server.backup(), dict(self.promised)
            case _:
                self.server.trouble.at = self.chance.randint(1, 25)
                self.server.trouble.deadly = self.chance.random() < 0.5

    def _restore(self, copy: bytes, promised: dict[str, Raw]) -> None:
        """Put the last backup back. What only the lost disk had is lost; what a phone still has is not."""
        lost = {name: one for name, one in self.promised.items() if name not in promised}
        self.server.restore(copy, self.chance)
        self.promised = promised
        self.backup = None
        for phone in self.phones:
            for one in phone.disk.all_there_is():
                if lost.get(one["id"]) == one:
                    phone.wanted.setdefault(one["id"], one)

    # -- the network ---------------------------------------------------------------------------------

    def _send(self, phone: Phone) -> None:
        if phone.busy is not None:
            return
        self._drop(phone)
        disk, number = phone.disk, next(self.calls)
        phone.busy = number
        phone.sent = disk.unsent(self.chance.choice((1000, 1000, 3)))
        fields: dict[str, Any] = {} if disk.mark.log is None else {"log": disk.mark.log}
        entries = list({entry["id"]: entry for _, entry in phone.sent}.values())
        body = _write(
            {
                "device": phone.name,
                "cursor": disk.mark.cursor,
                **fields,
                "entries": entries,
                "sent_at": self._clock_time(phone),
            }
        )
        self._later(TIMEOUT_S, lambda: self._give_up(phone, number))
        copies = 0 if self._is_lost() else 2 if self._is_lost() else 1
        for _ in range(copies):
            self._later(self._delay_s(), lambda: self._arrive(phone, number, body))

    def _arrive(self, phone: Phone, number: int, body: bytes) -> None:
        answer = self.server.take(body, self._now_us())
        if answer is None:
            return
        heard = _read(answer)
        sent = {one["id"]: one for one in _read(body)["entries"]}
        for name in heard["accepted"]:
            if self.promised.setdefault(name, sent[name]) != sent[name]:
                raise Wrong(f"{name} was accepted with two contents")
        if not self._is_lost():
            self._later(self._delay_s(), lambda: self._hear(phone, number, heard))

    def _hear(self, phone: Phone, number: int, heard: Any) -> None:
        if phone.busy == number:
            phone.busy = None
            # The phone's own disk may fail too: then nothing of the answer is written.
            if self.healed or self.chance.random() > 0.03:
                phone.disk.settle(phone.sent, heard)

    def _give_up(self, phone: Phone, number: int) -> None:
        if phone.busy == number:
            phone.busy = None

    def _drop(self, phone: Phone) -> None:
        for name in sorted(phone.let_go):
            if not self._is_lost() and self.server.drop(name, self._now_us()):
                phone.let_go.discard(name)
                phone.disk.held.pop(name, None)
                rows, upto = phone.disk.rows, phone.disk.mark.sent_upto
                for n in [n for n, one in rows.items() if one["id"] == name and n <= upto]:
                    del rows[n]

    def _is_lost(self) -> bool:
        return not self.healed and self.chance.random() < self.bad_link

    def _delay_s(self) -> float:
        """Draw a delay: most are short, some longer than anybody waits."""
        long = not self.healed and self.chance.random() < 0.05
        return self.chance.uniform(0, DELAY_S / 2) * (100 if long else 1)

    # -- time ----------------------------------------------------------------------------------------

    def _later(self, after_s: float, happen: Callable[[], None]) -> None:
        heapq.heappush(self.events, (self.now_s + after_s, next(self.ties), happen))

    def _live(self) -> None:
        while self.events:
            self.now_s, _, happen = heapq.heappop(self.events)
            happen()

    def _now_us(self) -> int:
        return BEGIN_US + round(self.now_s * 1e6)

    def _clock(self) -> float:
        """Draw how far a clock is off: most a little, some by years either way. [s]"""
        return self.chance.choice((0.0, 0.0, 3.0, -40.0, 5000.0, 9e5, -9e5, 10 * YEAR_S, -10 * YEAR_S))

    def _clock_time(self, phone: Phone) -> str:
        at = BEGIN + timedelta(seconds=round(self.now_s + phone.off_s))
        return f"{at:%Y-%m-%dT%H:%M:%S}Z"

    # -- the end -------------------------------------------------------------------------------------

    def _make(self, phone: Phone, entry: Raw) -> None:
        phone.disk.save(entry)
        phone.wanted[entry["id"]] = entry

    def _heal(self) -> None:
        """Let every phone reach the server until all have the same log, and nothing to send."""
        self.healed = True
        self.server.trouble.full = False
        self.server.trouble.at = 0
        # Whose time has come is let in by whichever call comes first.
        self._send_now(self.phones[0])
        for _ in range(ROUNDS):
            log_name, last_seq = self.server.newest()
            moving = [one for one in self.phones if not one.is_at_rest(log_name, last_seq)]
            if not moving:
                return
            for phone in sorted(moving, key=lambda one: not one.disk.unsent(1)):
                self._send_now(phone)
        raise Wrong(f"still moving after {ROUNDS} rounds")

    def _send_now(self, phone: Phone) -> None:
        phone.busy = None
        self._send(phone)
        self._live()

    def _compare(self) -> None:
        entries = self.server.entries()
        log = {one["id"]: one for one in entries}
        if len(log) != len(entries):
            raise Wrong("an entry is in the log twice")
        if findings := self.server.findings():
            raise Wrong(findings[0])
        for name, one in self.promised.items():
            if log.get(name) != one:
                raise Wrong(f"{name} was promised and is not there")
        set_aside = [_read(body) for body in self.server.held_bodies()]
        for phone in self.phones:
            self._compare_phone(phone, log, set_aside)

    def _compare_phone(self, phone: Phone, log: dict[str, Raw], set_aside: list[Raw]) -> None:
        disk = phone.disk
        if disk.unsent(1):
            raise Wrong(f"{phone.name} still has something to send")
        own = disk.log()
        odd = own != log and {name for name in own.keys() | log.keys() if own.get(name) != log.get(name)}
        if odd and (unlike := sorted(filter(self._is_clear, odd))):
            raise Wrong(f"{phone.name} has another log than the server: {unlike[:3]}")
        for name, one in phone.wanted.items():
            held = disk.held.get(name, {}).get("entry") == one
            if log.get(name) != one and not (held and (one in set_aside or not self._is_clear(name))):
                raise Wrong(f"{name} of {phone.name} is neither in the log nor held")

    def _is_clear(self, name: str) -> bool:
        """Tell whether an id means one thing on every phone.

        Where two phones drew one id *and* the server was put back, either entry may have become the one
        that has it. Both are still kept, but a phone may show the other one until its person mends it.
        """
        return not (name.startswith(POOL) and self.server.restores)

    def _compare_folds(self) -> None:
        """Fold what two phones have, each in its own order."""
        one, other = (
            [entry for name, entry in phone.disk.log().items() if self._is_clear(name)]
            for phone in self.chance.sample(self.phones, 2)
        )
        at = (BEGIN + timedelta(seconds=self.now_s)).isoformat()
        if self.seed % PLANNED_EVERY == 0:
            same = plan.plan_json(one, at) == plan.plan_json(reversed(other), at)
        else:
            same = _folded(one) == _folded(other)
        if not same:
            raise Wrong("two phones with the same log show different things")


def _folded(entries: list[Raw]) -> place.Place:
    return place.fold(core_entries.read(one) for one in entries if one["kind"] == "setup")


def fault_of(seed: int, tell: Callable[[str], None] = lambda line: None) -> str | None:
    """Live through the history of a seed; say what went wrong, or None."""
    try:
        History(seed, tell).run()
    except Exception as error:
        return f"seed {seed}: {type(error).__name__}: {error}"
    return None


def faults_of(seeds: range) -> list[str]:
    """Live through the histories of some seeds; say what went wrong in them."""
    return [fault for seed in seeds if (fault := fault_of(seed)) is not None]


def faults_on_all_cores(seeds: range) -> Iterator[str]:
    """Do the same with a process a core; what went wrong is said as soon as it is known."""
    chunks = [seeds[n : n + CHUNK] for n in range(0, len(seeds), CHUNK)]
    # Started anew, for a fork would take the threads of a test run along.
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        yield from chain.from_iterable(pool.map(faults_of, chunks))


def main() -> int:
    """Run as many histories as the command line says; print the seed of any that went wrong."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--histories", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=0, help="the first seed")
    parser.add_argument("--tell", action="store_true", help="print what happens, one history after another")
    chosen = parser.parse_args()
    seeds = range(chosen.seed, chosen.seed + chosen.histories)
    began = time.monotonic()
    told = (fault for seed in seeds if (fault := fault_of(seed, print)) is not None)
    faults = 0
    for fault in told if chosen.tell else faults_on_all_cores(seeds):
        faults += 1
        print(fault, flush=True)
    took_s = time.monotonic() - began
    print(f"{chosen.histories} histories, {faults} went wrong, {took_s:.0f} s")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
