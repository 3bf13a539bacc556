"""A server that can be reached from elsewhere asks who calls; behind a proxy it believes the proxy only."""

import json
import re
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fallowside.api import serving
from fallowside.api.app import build_app
from fallowside.api.serving import Manner
from fallowside.store.database import Database
from tests.browser.server import LiveServer
from tests.stores import body

NAME = "garden.example"
FROM_PROXY = {"Host": NAME, "X-Forwarded-For": "203.0.113.9", "X-Forwarded-Proto": "https"}
"""As the configuration in docs/on_phones.md lets nginx send them."""


@pytest.mark.parametrize(
    ("manner", "is_open"),
    [
        (Manner("127.0.0.1", 8000), True),
        (Manner("::1", 8000), True),
        (Manner("localhost", 8000), True),
        (Manner("0.0.0.0", 8000), False),
        (Manner("192.168.1.7", 8000), False),
        (Manner("127.0.0.1", 8000, home=True), False),
        (Manner("127.0.0.1", 8000, behind_proxy=NAME), False),
        (Manner("127.0.0.1", 8000, names=(NAME,)), False),
        (Manner("127.0.0.1", 8000, sign_in=True), False),
    ],
)
def test_only_a_server_of_its_own_machine_is_open(manner: Manner, is_open: bool) -> None:
    assert manner.open is is_open


@pytest.mark.parametrize("header", ["Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP"])
def test_an_open_server_refuses_what_a_proxy_hands_on(database: Database, header: str) -> None:
    client = TestClient(build_app(database), base_url="http://localhost")
    assert client.get("/api/plan").status_code == 200
    answer = client.get("/api/plan", headers={header: "203.0.113.9"})
    assert (answer.status_code, answer.json()["code"]) == (403, "handed_on")


# -- behind a proxy ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    server = LiveServer(tmp_path_factory.mktemp("proxied"), "--behind-proxy", NAME)
    server.start()
    yield server
    server.stop()


def call(
    server: LiveServer, method: str, path: str, content: object = None, **headers: str
) -> tuple[HTTPResponse, dict[str, object]]:
    """Call as a proxy does, over the wire."""
    connection = HTTPConnection("127.0.0.1", server.port, timeout=20)
    sent = None if content is None else json.dumps(content)
    connection.request(method, path, sent, {"Content-Type": "application/json", **FROM_PROXY, **headers})
    answer = connection.getresponse()
    found: dict[str, object] = json.loads(answer.read())
    connection.close()
    return answer, found


def code_of(server: LiveServer) -> str:
    link = re.search(r"https://garden\.example/#/pair/(\S+)", server.run("pair"))
    assert link, "the link is not for the name people call"
    return link[1]


def test_behind_a_proxy_a_phone_pairs_under_the_name_people_call(proxied: LiveServer) -> None:
    answer, me = call(proxied, "POST", "/api/pair", {"code": code_of(proxied)})
    assert answer.status == 200, me
    cookie = answer.getheader("Set-Cookie") or ""
    assert cookie.startswith("__Host-fallowside=")
    assert "Secure" in cookie
    token = cookie.split(";")[0]
    answer, made = call(proxied, "POST", "/api/invitations", {}, Cookie=token, Origin=f"https://{NAME}")
    assert answer.status == 200, made
    assert str(made["link"]).startswith(f"https://{NAME}/#/pair/")


def test_behind_a_proxy_guessers_are_told_apart_by_their_own_addresses(proxied: LiveServer) -> None:
    def guess(source: str) -> int:
        header = {"X-Forwarded-For": source}
        return call(proxied, "POST", "/api/pair", {"code": "WRONG"}, **header)[0].status

    assert [guess("198.51.100.1") for _ in range(11)][-1] == 429
    assert guess("198.51.100.2") == 403
    listed = proxied.run("phones")
    assert "198.51.100.1" in listed
    assert "127.0.0.1" not in listed


def test_behind_a_proxy_every_route_asks_for_a_session(proxied: LiveServer) -> None:
    answer, refusal = call(proxied, "GET", "/api/plan")
    assert (answer.status, refusal["code"]) == (401, "sign_in")


def test_another_name_than_the_proxys_is_refused(proxied: LiveServer) -> None:
    answer, refusal = call(proxied, "GET", "/api/health", Host="evil.example")
    assert (answer.status, refusal["code"]) == (400, "unknown_host")


def test_a_server_answers_to_its_own_local_name_and_to_nobody_elses(proxied: LiveServer) -> None:
    # Whoever is in the network may give a `.local` name of theirs this machine's address.
    assert call(proxied, "GET", "/api/health", Host=serving.own_names()[-1])[0].status == 200
    assert call(proxied, "GET", "/api/health", Host="evil.local")[0].status == 400


# -- by hand at the terminal ---------------------------------------------------------------------


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    server = LiveServer(tmp_path_factory.mktemp("asking"), FALLOWSIDE_SIGN_IN="true")
    server.start()
    yield server
    server.stop()


def test_a_phone_is_paired_listed_and_shut_out_at_the_terminal(asking: LiveServer) -> None:
    said = asking.run("pair")
    found = re.search(r"/#/pair/(\S+)", said)
    assert found
    assert found[1] in said.split("type this code there:")[1]
    local = {"Host": f"127.0.0.1:{asking.port}"}
    answer, _ = call(asking, "POST", "/api/pair", {"code": found[1], "device": "mine"}, **local)
    token = (answer.getheader("Set-Cookie") or "").split(";")[0]
    assert call(asking, "GET", "/api/me", Cookie=token, **local)[0].status == 200
    row = asking.run("phones").splitlines()[-1].split()
    asking.run("unpair", row[0])
    assert call(asking, "GET", "/api/me", Cookie=token, **local)[0].status == 401
    assert "No phone is paired" in asking.run("phones")


def test_what_the_server_prints_holds_no_code(asking: LiveServer) -> None:
    found = re.search(r"/#/pair/(\S+)", asking.run("pair"))
    assert found
    call(asking, "POST", "/api/sync", json.loads(body([])))
    assert found[1] not in asking.log.read_text(encoding="utf-8")
    assert "paired: fallowside pair" in Path(asking.log).read_text(encoding="utf-8")
