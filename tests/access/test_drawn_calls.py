"""Calls drawn from the API's own description, as a stranger, a helper, a host, and a host of elsewhere."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.core.jsonschema.types import JsonValue
from schemathesis.specs.openapi.checks import response_schema_conformance, status_code_conformance

from fallowside.access import sessions
from fallowside.access.people import local_day
from fallowside.api import rules, signing
from fallowside.api.app import build_app
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.access.conftest import people
from tests.logs import setups
from tests.stores import NOW_US, feed, fresh, send

CASES = 25
"""Of each route, each made by every caller: more than two thousand calls in all."""
ENDING = ("POST /api/leave", "POST /api/pair", "POST /api/phones/{n}/end")
"""Routes that may end the session of the caller."""
REFUSED = (400, 401, 403, 413, 422)
CALLERS = ("stranger", "helper", "host", "elsewhere")
ROUTES = sorted(rules.RULES.keys() - {"GET /api/openapi.json"})
PATIENCE_S = 600.0
"""For an answer; left to itself the caller gives up after ten seconds, which a busy machine may take."""
CHECKS = [schemathesis.checks.not_a_server_error, status_code_conformance, response_schema_conformance]
SECRET = "only-known-here"
"""Stands in the log of the place and nowhere else."""

Token = Callable[[str], str]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[schemathesis.BaseSchema, Token]]:
    database: Database = fresh(tmp_path_factory.mktemp("drawn"))
    entries = [*setups(), *people(local_day(NOW_US) + timedelta(days=1)), *map(feed, range(5))]
    send(Intake(database), [*entries, feed(6, note=SECRET), feed(9, station="moon", note=SECRET)])
    app = build_app(database, hosts=["testserver"], sign_in=True, now_us=lambda: NOW_US)

    def token(caller: str) -> str:
        who = {"helper": ("kit", "home"), "host": ("ana", "home"), "elsewhere": ("", "elsewhere")}
        if caller not in who:
            return ""
        person, where = who[caller]
        with database.of_place(where).write() as hand:
            place_n = log.open_place(hand, NOW_US).n
            return sessions.start(hand, place_n, person, "host", "drawn", "", NOW_US)[0]

    # The description asks for a session like the rest.
    cookie = {"Cookie": f"{signing.PLAIN_COOKIE}={token('host')}"}
    yield schemathesis.openapi.from_asgi("/api/openapi.json", app, headers=cookie), token
    database.close()


@pytest.mark.parametrize("route", ROUTES)
def test_no_drawn_call_breaks_the_server_or_gets_past_its_rule(
    place: tuple[schemathesis.BaseSchema, Token], route: str
) -> None:
    described, token = place
    operation = described.find_operation_by_label(route)
    assert operation is not None
    tokens = {caller: token(caller) for caller in CALLERS}

    @settings(
        max_examples=CASES,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def drawn(case: schemathesis.Case[Any]) -> None:
        for caller in CALLERS:
            held = token(caller) if route in ENDING else tokens[caller]
            case.cookies = {signing.PLAIN_COOKIE: held}
            answer = case.call_and_validate(checks=CHECKS, timeout=PATIENCE_S)
            if caller in ("stranger", "elsewhere"):
                assert SECRET not in answer.text
                assert rules.RULES[route] == "anyone" or answer.status_code in REFUSED, (route, caller)

    drawn()


def test_the_secret_is_there_to_be_leaked(place: tuple[schemathesis.BaseSchema, Token]) -> None:
    described, token = place
    operation = described.find_operation_by_label("POST /api/sync")
    assert operation is not None
    call: JsonValue = {"device": "reader", "cursor": 0, "entries": []}
    cookies = {signing.PLAIN_COOKIE: token("host")}
    assert SECRET in operation.Case(body=call, media_type="application/json", cookies=cookies).call().text
