"""The description of the API is true: calls drawn from it never break the server, answers match it."""

from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.testclient import TestClient

from fallowside.api.app import build_app
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import NOW_US, feed, fresh, send

CHECKS = [
    schemathesis.checks.not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
PATIENCE_S = 600.0
"""For an answer; left to itself the caller gives up after ten seconds, which a busy machine may take."""
OPERATIONS = {
    "GET /api/calendar/{token}.ics",
    "GET /api/calendars",
    "GET /api/health",
    "GET /api/held",
    "GET /api/me",
    "GET /api/phones",
    "GET /api/photos/{name}",
    "GET /api/plan",
    "GET /api/push",
    "GET /api/report.css",
    "GET /api/report.csv",
    "GET /api/report.html",
    "GET /api/report.xlsx",
    "GET /api/sheets/handover.html",
    "GET /api/sheets/sheets.css",
    "GET /api/sheets/stickers.html",
    "GET /api/tally",
    "POST /api/alarms/seen",
    "POST /api/calendars",
    "POST /api/calendars/end",
    "POST /api/held/{ref}/allow",
    "POST /api/held/{ref}/drop",
    "POST /api/invitations",
    "POST /api/leave",
    "POST /api/pair",
    "POST /api/phones/{n}/end",
    "POST /api/route",
    "POST /api/push",
    "POST /api/push/end",
    "POST /api/probe",
    "POST /api/sync",
    "PUT /api/photos/{name}",
}


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Iterator[schemathesis.BaseSchema]:
    database: Database = fresh(tmp_path_factory.mktemp("described"))
    send(Intake(database), [*setups(), *map(feed, range(5)), feed(9, station="moon")])
    app = build_app(database, hosts=["testserver"], now_us=lambda: NOW_US)
    yield schemathesis.openapi.from_asgi("/api/openapi.json", app)
    database.close()


def test_every_route_is_described(described: schemathesis.BaseSchema) -> None:
    found = {one.ok().label for one in described.get_all_operations() if isinstance(one, Ok)}
    assert found == OPERATIONS


@pytest.mark.parametrize("label", sorted(OPERATIONS))
def test_no_call_breaks_the_server_and_answers_are_as_described(
    described: schemathesis.BaseSchema, label: str
) -> None:
    operation = described.find_operation_by_label(label)
    assert operation is not None

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), database=None)
    @given(case=operation.as_strategy())
    def drawn(case: schemathesis.Case[Any]) -> None:
        case.call_and_validate(checks=CHECKS, timeout=PATIENCE_S)

    drawn()


def test_nothing_is_fetched_from_elsewhere_to_read_the_description(database: Database) -> None:
    client = TestClient(build_app(database), base_url="http://localhost")
    for path in ("/docs", "/redoc"):
        assert "cdn" not in client.get(path).text
