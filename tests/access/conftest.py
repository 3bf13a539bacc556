"""A place with a host and helpers, a server that asks for a session, and phones paired with it."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fallowside.access import pairing, sessions
from fallowside.access.people import Role, local_day
from fallowside.api import signing
from fallowside.api.app import build_app
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import Raw, entry, setups
from tests.stores import NOW_US, feed, fresh, send

SITE = "https://garden.example"


class Clock:
    """The server's clock, which a test may turn on."""

    def __init__(self) -> None:
        self.us = NOW_US

    def __call__(self) -> int:
        return self.us


@pytest.fixture
def clock() -> Clock:
    return Clock()


def set_person(person: str, minute: float, **fields: str) -> Raw:
    """Set up a person, or what changes of one."""
    return {**entry("setup", minute, what="person", item=person, set=fields), "id": f"{person}-{minute:g}"}


def people(today: date) -> list[Raw]:
    """Set up, beside a host, a helper who stays another week and one whose stay ended yesterday."""
    return [
        set_person("kit", 901, last_day=str(today + timedelta(days=7))),
        set_person("lou", 902, name="Lou", role="helper", last_day=str(today - timedelta(days=1))),
    ]


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = fresh(tmp_path / "data")
    send(Intake(opened), [*setups(), *people(local_day(NOW_US)), *map(feed, range(3))])
    yield opened
    opened.close()


@pytest.fixture
def stranger(database: Database, clock: Clock, tmp_path: Path) -> TestClient:
    """Give a client that has no session."""
    (tmp_path / "web").mkdir(exist_ok=True)
    (tmp_path / "web" / "index.html").write_text("<!doctype html><title>App</title>")
    app = build_app(database, web=tmp_path / "web", hosts=["garden.example"], sign_in=True, now_us=clock)
    return TestClient(app, base_url=SITE, raise_server_exceptions=False)


Phones = Callable[..., TestClient]


@pytest.fixture
def phone(stranger: TestClient, database: Database, clock: Clock) -> Phones:
    """Give a way to get a phone that holds a session of a person."""

    def paired(person: str, place: str = log.ONLY_PLACE, role: Role = "helper") -> TestClient:
        with database.of_place(place).write() as hand:
            place_n = log.open_place(hand, clock()).n
            token, _ = sessions.start(hand, place_n, person, role, f"of-{person or role}", "Android", clock())
        client = TestClient(stranger.app, base_url=SITE, raise_server_exceptions=False)
        client.cookies.set(signing.SECURE_COOKIE, token, domain="garden.example")
        return client

    return paired


@pytest.fixture
def code(database: Database, clock: Clock) -> Callable[..., str]:
    """Give a way to get a code that pairs a phone."""

    def invited(person: str = "kit", role: Role = "helper") -> str:
        with database.write() as hand:
            return pairing.invite(hand, log.open_place(hand, clock()).n, person, role, clock()).code

    return invited
