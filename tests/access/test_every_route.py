"""Every route against everybody who may knock; the routes are the application's own.

Whoever adds a route without a rule can't start the server; whoever adds a rule without saying here
what it means fails `test_each_rule_is_tried`.
"""

import pytest
from starlette.testclient import TestClient

from fallowside.access import sessions
from fallowside.api import rules, signing
from fallowside.store import log
from fallowside.store.database import Database
from tests.access.conftest import Clock, Phones
from tests.stores import body

CALLERS = ("nobody", "made-up", "lapsed", "revoked", "helper", "left", "host", "other place")
MAY: dict[rules.Who, set[str]] = {
    "anyone": set(CALLERS),
    "sender": {"helper", "left", "host"},
    "reader": {"helper", "host"},
    "host": {"host"},
}
PARTS = {"{ref}": "no-such-entry", "{n}": "999999", "{token}": "x" * 43, "{name}": "0" * 64}
REFUSED = {
    "nobody": (401, "sign_in"),
    "made-up": (401, "signed_out"),
    "lapsed": (401, "signed_out"),
    "revoked": (401, "signed_out"),
    "helper": (403, "host_only"),
    "left": (403, "stay_over"),
    "other place": (403, "other_place"),
}

KEYS_OF_THEIR_OWN = {"POST /api/pair": (403, "bad_code"), "POST /api/probe": (401, "no_probe")}
"""Routes open to anyone that ask for a key of their own, which nobody here has."""


def bodies() -> dict[str, dict[str, object]]:
    """Give what a route wants to be sent, beside its address."""
    return {
        "POST /api/sync": {"content": body([])},
        "POST /api/pair": {"json": {"code": "no such code"}},
        "POST /api/invitations": {"json": {}},
        "POST /api/calendars": {"json": {}},
        "POST /api/push": {
            "json": {"endpoint": "https://push.example/x", "keys": {"p256dh": "", "auth": ""}}
        },
        "POST /api/push/end": {"json": {"endpoint": "https://push.example/x"}},
        "POST /api/calendars/end": {"json": {}},
    }


@pytest.fixture
def callers(phone: Phones, stranger: TestClient, database: Database, clock: Clock) -> dict[str, TestClient]:
    made = {
        "nobody": stranger,
        "made-up": phone("kit"),
        "lapsed": phone("kit"),
        "revoked": phone("kit"),
        "other place": phone("", place="elsewhere", role="host"),
    }
    made["made-up"].cookies.set(signing.SECURE_COOKIE, "x" * 43, domain="garden.example")
    with database.write() as hand:
        place = log.open_place(hand, clock())
        revoked, lapsed, _ = [one.n for one in sessions.phones(hand, place.n)]
        sessions.end(hand, place.n, revoked, clock())
        hand.run("UPDATE session SET seen_us = ? WHERE n = ?", clock() - sessions.LAPSE_US - 1, lapsed)
    made |= {"helper": phone("kit"), "left": phone("lou"), "host": phone("ana")}
    return made


@pytest.mark.parametrize("route", sorted(rules.RULES))
def test_a_route_lets_in_whom_its_rule_names_and_nobody_else(
    route: str, callers: dict[str, TestClient]
) -> None:
    method, path = route.split(" ")
    for part, value in PARTS.items():
        path = path.replace(part, value)
    assert "{" not in path
    for name, client in callers.items():
        answer = client.request(method, path, **bodies().get(route, {}))  # type: ignore[arg-type]
        refusal = (
            (answer.status_code, answer.json().get("code")) if answer.status_code in (401, 403) else None
        )
        if name in MAY[rules.RULES[route]]:
            assert refusal is None or refusal == KEYS_OF_THEIR_OWN[route], (route, name)
            assert answer.status_code < 500, (route, name)
        else:
            assert refusal == REFUSED[name], (route, name)


def test_each_rule_is_tried() -> None:
    assert set(rules.RULES.values()) == MAY.keys()


def test_the_table_names_every_route_the_application_has(stranger: TestClient, phone: Phones) -> None:
    described = phone("kit").get("/api/openapi.json").json()["paths"]
    found = {f"{method.upper()} {path}" for path, methods in described.items() for method in methods}
    assert found | {"GET /api/openapi.json"} == set(rules.RULES)


def test_a_route_without_a_rule_keeps_the_server_from_starting(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fallowside.api.app import build_app

    fewer = {route: who for route, who in rules.RULES.items() if route != "GET /api/plan"}
    monkeypatch.setattr(rules, "RULES", fewer)
    with pytest.raises(RuntimeError, match="GET /api/plan"):
        build_app(database)


@pytest.mark.parametrize("path", ["/", "/round", "/index.html"])
def test_the_app_itself_opens_for_everybody(stranger: TestClient, path: str) -> None:
    assert stranger.get(path).status_code == 200


def test_a_stranger_learns_nothing_of_the_place_from_its_health(stranger: TestClient, phone: Phones) -> None:
    assert stranger.get("/api/health").json()["entries"] is None
    assert phone("kit").get("/api/health").json()["entries"] > 0
