"""Several phones and one server, with everything a bad link does: in the end all have the same log.

The rules draw what happens: an entry is made, a call arrives and its answer gets lost, a call arrives
twice or late, an entry is wrong and mended later, two phones use one id, the server starts anew.
"""

import json
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, invariant, rule

from fallowside.store import database as databases
from fallowside.store import held, integrity
from fallowside.store.database import Database
from fallowside.sync import call, reply
from fallowside.sync.intake import Intake
from tests.logs import Raw, kg, setups
from tests.postgres import Cluster
from tests.stores import NOW_US, body, feed, fresh, logged

PHONES = ("one", "two", "three")


class Phone:
    """What a phone keeps: an outbox it empties only on `accepted`, a copy of the log, a cursor."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.outbox: dict[str, Raw] = {}
        self.copy: dict[str, Raw] = {}
        self.handed_out: list[str] = []
        self.cursor = 0
        self.log: str | None = None

    def call(self) -> bytes:
        fields: dict[str, Any] = {} if self.log is None else {"log": self.log}
        return body(self.outbox.values(), self.name, self.cursor, **fields)

    def hear(self, answer: bytes) -> None:
        heard = json.loads(answer)
        for name in heard["accepted"]:
            if name in self.outbox:
                self.copy[name] = self.outbox.pop(name)
        for one in heard["entries"]:
            name = one["id"]
            self.handed_out.append(name)
            self.copy[name] = {key: value for key, value in one.items() if key not in ("seq", "received_at")}
            if self.outbox.get(name) == self.copy[name]:
                del self.outbox[name]
        self.cursor, self.log = heard["cursor"], heard["log"]


class Phones(RuleBasedStateMachine):
    """The machine whose steps Hypothesis draws."""

    under_way = Bundle("under_way")

    @initialize()
    def begin(self) -> None:
        self.closing = ExitStack()
        self.make_store()
        self.database = self.open()
        self.intake = Intake(self.database)
        self.phones = {name: Phone(name) for name in PHONES}
        self.numbers = iter(range(10_000))
        self.promised: dict[str, Raw] = {}

    def make_store(self) -> None:
        self.folder = Path(self.closing.enter_context(tempfile.TemporaryDirectory()))

    def open(self) -> Database:
        return fresh(self.folder)

    def teardown(self) -> None:
        if hasattr(self, "database"):
            self.settle()
            self.database.close()
            self.closing.close()

    def answer(self, sent: bytes) -> bytes:
        read = call.read(sent)
        outcome = self.intake.take(read, NOW_US)
        docs = {doc["id"]: doc for doc in read.docs if isinstance(doc, dict) and "id" in doc}
        self.promised.update({name: docs[name] for name in outcome.accepted})
        return reply.written(outcome)

    @rule(who=st.sampled_from(PHONES), many=st.integers(1, 4))
    def note(self, who: str, many: int) -> None:
        for _ in range(many):
            made = feed(next(self.numbers))
            self.phones[who].outbox[made["id"]] = made

    @rule(who=st.sampled_from(PHONES), amount=st.sampled_from([-1.0, 0.0, 1e9, float("nan")]))
    def slip(self, who: str, amount: float) -> None:
        made = feed(next(self.numbers), amount=kg(amount))
        self.phones[who].outbox[made["id"]] = made

    @rule(who=st.sampled_from(PHONES))
    def mend(self, who: str) -> None:
        for name, made in self.phones[who].outbox.items():
            if made.get("amount") not in (None, kg(1)):
                self.phones[who].outbox[name] = {**made, "amount": kg(1)}

    @rule(who=st.sampled_from(PHONES), other=st.sampled_from(PHONES), grams=st.integers(1, 900))
    def same_id(self, who: str, other: str, grams: int) -> None:
        name = f"feed-{grams % 7}"
        self.phones[who].outbox[name] = feed(0, id=name, amount={"value": grams, "unit": "g"})
        self.phones[other].outbox.setdefault(name, feed(0, id=name))

    @rule(who=st.sampled_from(PHONES))
    def set_up(self, who: str) -> None:
        self.phones[who].outbox.update({one["id"]: one for one in setups()})

    @rule(who=st.sampled_from(PHONES))
    def sync(self, who: str) -> None:
        phone = self.phones[who]
        phone.hear(self.answer(phone.call()))

    @rule(who=st.sampled_from(PHONES))
    def sync_and_lose_the_answer(self, who: str) -> None:
        self.answer(self.phones[who].call())

    @rule(target=under_way, who=st.sampled_from(PHONES))
    def send_on_a_slow_way(self, who: str) -> bytes:
        return self.phones[who].call()

    @rule(sent=under_way)
    def arrive_late(self, sent: bytes) -> None:
        self.answer(sent)

    @rule()
    def start_anew(self) -> None:
        self.database.close()
        self.database = self.open()
        self.intake = Intake(self.database)

    @invariant()
    def nothing_promised_is_lost_or_doubled(self) -> None:
        if not hasattr(self, "database"):
            return
        names = [one["id"] for one in logged(self.database)]
        assert len(names) == len(set(names))
        assert set(self.promised) <= set(names)

    def settle(self) -> None:
        """Let every phone reach the server until nothing moves, and compare."""
        for phone in self.phones.values():
            phone.outbox.update({one["id"]: one for one in setups()})
        for _ in range(3):
            for phone in self.phones.values():
                phone.hear(self.answer(phone.call()))
        entries = logged(self.database)
        by_id = {one["id"]: one for one in entries}
        for name, promised in self.promised.items():
            assert by_id[name] == promised
        with self.database.read() as hand:
            waiting = {one.id for one in held.waiting(hand, 1)}
        for phone in self.phones.values():
            assert phone.copy == by_id
            assert set(phone.outbox) <= waiting
        assert integrity.check(self.database).sound


class PhonesOfPostgres(Phones):
    """The same, with a server that keeps its log in PostgreSQL."""

    cluster: ClassVar[Cluster]

    def make_store(self) -> None:
        self.url = self.cluster.store()
        self.closing.callback(self.cluster.drop, self.url)

    def open(self) -> Database:
        return databases.at_url(self.url)


@pytest.fixture
def phones_cluster(cluster: Cluster) -> None:
    PhonesOfPostgres.cluster = cluster


Phones.TestCase.settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
PhonesOfPostgres.TestCase.settings = settings(max_examples=20, stateful_step_count=25, deadline=None)
TestPhones = Phones.TestCase
TestPhonesOfPostgres = pytest.mark.usefixtures("phones_cluster")(PhonesOfPostgres.TestCase)
