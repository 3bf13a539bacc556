"""The documented proxy, for real: nginx with the page's own configuration, TLS, the server behind it."""

import gzip
import hashlib
import json
import re
import ssl
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from fallowside.access import pairing
from fallowside.api import body as bodies
from fallowside.store.photos import MOST_BYTES
from tests.api.test_photos import JPEG
from tests.nginx import NAME, Proxy, running
from tests.stores import body
from tests.tls import greeted

SITE = f"https://{NAME}"


@pytest.fixture(scope="module")
def proxy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxy]:
    with running(tmp_path_factory.mktemp("proxy")) as made:
        yield made


def caller(proxy: Proxy, source: str = "127.0.0.1") -> httpx.Client:
    """Give somebody who calls from an address of their own, and believes the local authority only."""
    trusted = ssl.create_default_context(cafile=proxy.trusted)
    transport = httpx.HTTPTransport(verify=trusted, local_address=source)
    return httpx.Client(
        transport=transport, base_url=f"https://127.0.0.1:{proxy.port}", headers={"Host": NAME}, timeout=30.0
    )


def call(client: httpx.Client, method: str, path: str, **more: Any) -> httpx.Response:
    """Call by the name people use: it is what the certificate is checked against."""
    return client.request(method, path, extensions={"sni_hostname": NAME}, **more)


@pytest.fixture(scope="module")
def said(proxy: Proxy) -> httpx.Response:
    """Pair a phone of the first host; give the answer."""
    found = re.search(rf"{SITE}/#/pair/(\S+)", proxy.server.run("pair"))
    assert found, "the link is not for the name people call"
    with caller(proxy) as client:
        return call(client, "POST", "/api/pair", json={"code": found[1]})


@pytest.fixture(scope="module")
def cookie(said: httpx.Response) -> dict[str, str]:
    """Give the headers of the later calls of that phone."""
    assert said.status_code == 200, said.text
    return {"Cookie": said.headers["set-cookie"].split(";")[0]}


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3])
def test_tls_of_today_is_spoken(proxy: Proxy, version: ssl.TLSVersion) -> None:
    assert greeted(proxy.port, NAME, proxy.trusted, version) == version.name.replace("_", ".")


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1])
def test_tls_of_yesterday_is_not(proxy: Proxy, version: ssl.TLSVersion) -> None:
    with pytest.raises(ssl.SSLError, match="ALERT_PROTOCOL_VERSION"):
        greeted(proxy.port, NAME, proxy.trusted, version)


def test_plain_http_is_sent_on_to_https(proxy: Proxy) -> None:
    answer = httpx.get(f"http://127.0.0.1:{proxy.plain}/round?x=1", headers={"Host": NAME})
    assert (answer.status_code, answer.headers["location"]) == (301, f"{SITE}/round?x=1")


def test_a_phone_pairs_over_tls_and_is_let_in_by_its_cookie(
    proxy: Proxy, said: httpx.Response, cookie: dict[str, str]
) -> None:
    made = said.headers["set-cookie"]
    assert made.startswith("__Host-fallowside=")
    assert {"HttpOnly", "Secure", "SameSite=strict", "Path=/"} <= set(made.split("; "))
    with caller(proxy) as client:
        assert call(client, "GET", "/api/plan").json()["code"] == "sign_in"
        answer = call(client, "GET", "/api/me", headers=cookie)
        assert answer.json()["role"] == "host"
        assert answer.headers["strict-transport-security"] == "max-age=31536000"
        assert "default-src 'self'" in answer.headers["content-security-policy"]
        assert answer.headers["cache-control"] == "no-store"
        made = call(client, "POST", "/api/invitations", json={}, headers=cookie).json()
        assert made["link"].startswith(f"{SITE}/#/pair/")


def test_a_page_of_another_site_changes_nothing_and_another_name_reaches_nothing(
    proxy: Proxy, cookie: dict[str, str]
) -> None:
    with caller(proxy) as client:
        for origin, status in ((SITE, 200), ("https://evil.example", 403), ("null", 403)):
            answer = call(client, "POST", "/api/invitations", json={}, headers={**cookie, "Origin": origin})
            assert answer.status_code == status, origin
        across = {**cookie, "Origin": SITE, "Sec-Fetch-Site": "cross-site"}
        assert call(client, "POST", "/api/leave", headers=across).status_code == 403
        assert call(client, "GET", "/api/health", headers={"Host": "evil.example"}).status_code == 400


def test_callers_are_told_apart_by_their_own_addresses_whatever_they_claim(
    proxy: Proxy, cookie: dict[str, str]
) -> None:
    with caller(proxy, "127.0.0.2") as guesser, caller(proxy, "127.0.0.3") as other:
        said = [
            call(
                guesser,
                "POST",
                "/api/pair",
                json={"code": "WRONG"},
                headers={"X-Forwarded-For": f"203.0.113.{n}", "X-Real-IP": "203.0.113.1"},
            ).status_code
            for n in range(pairing.MOST_GUESSES + 1)
        ]
        assert said == [403] * pairing.MOST_GUESSES + [429]
        assert call(other, "POST", "/api/pair", json={"code": "WRONG"}).status_code == 403
        (alarm,) = call(other, "GET", "/api/phones", headers=cookie).json()["alarms"]
        assert alarm["source"] == "127.0.0.2"


def test_who_calls_too_often_waits_and_the_rest_of_the_house_does_not(proxy: Proxy) -> None:
    with caller(proxy, "127.0.0.4") as hasty, caller(proxy, "127.0.0.5") as other:
        answer = next(
            one for one in (call(hasty, "GET", "/api/health") for _ in range(2000)) if one.status_code == 429
        )
        assert int(answer.headers["retry-after"]) >= 1
        assert call(other, "GET", "/api/health").status_code == 200


def test_large_packed_calls_arrive_and_too_large_ones_are_told_so(
    proxy: Proxy, cookie: dict[str, str]
) -> None:
    with caller(proxy, "127.0.0.6") as client:
        headers = {**cookie, "Content-Encoding": "gzip"}

        def sent(unpacked: bytes) -> httpx.Response:
            return call(client, "POST", "/api/sync", content=gzip.compress(unpacked, 1), headers=headers)

        empty = json.loads(body([]))
        padded = json.dumps({**empty, "padding": "x" * (bodies.MOST_BYTES - 1000)}).encode()
        assert sent(padded).status_code == 200
        bomb = sent(padded + b" " * 2000)
        assert (bomb.status_code, bomb.json()["code"]) == (413, "too_large")
        large = call(client, "POST", "/api/sync", content=bytes(bodies.MOST_BYTES + 1), headers=cookie)
        assert (large.status_code, large.json()["code"]) == (413, "too_large")
        answer = call(client, "POST", "/api/sync", content=body([]), headers=cookie)
        assert answer.status_code == 200


def test_a_photo_travels_up_and_down_and_a_strangers_does_not(proxy: Proxy, cookie: dict[str, str]) -> None:
    photo = JPEG + bytes(MOST_BYTES - len(JPEG))
    path = f"/api/photos/{hashlib.sha256(photo).hexdigest()}"
    with caller(proxy, "127.0.0.7") as client:
        assert call(client, "PUT", path, content=photo).json()["code"] == "sign_in"
        assert call(client, "PUT", path, content=photo, headers=cookie).json() == {"stored": True}
        assert call(client, "GET", path, headers=cookie).content == photo
        refused = call(client, "PUT", path, content=photo + b"x", headers=cookie)
        assert (refused.status_code, refused.json()["code"]) == (413, "too_large")


def test_the_secret_address_of_a_calendar_stands_in_no_log(proxy: Proxy, cookie: dict[str, str]) -> None:
    with caller(proxy, "127.0.0.8") as client:
        assert call(client, "POST", "/api/sync", content=body([KIT]), headers=cookie).json()["accepted"]
        made = call(client, "POST", "/api/calendars", json={"person": "kit"}, headers=cookie).json()
        assert made["address"].startswith(f"{SITE}/api/calendar/")
        path = made["address"].removeprefix(SITE)
        assert call(client, "GET", path).headers["content-type"].startswith("text/calendar")
        # A proxy that reaches nobody writes down what was asked for. Last here: the server stays away.
        proxy.server.stop()
        assert call(client, "GET", path).status_code == 502
        assert call(client, "GET", "/api/health").status_code == 502
    secret = path.rsplit("/", 1)[1].removesuffix(".ics")
    logs = proxy.logged() + proxy.server.log.read_text(encoding="utf-8")
    assert "/api/health" in logs
    assert secret not in logs


KIT = {
    "id": "set-kit",
    "kind": "setup",
    "at": "2026-03-01T07:30:00+00:00",
    "what": "person",
    "item": "kit",
    "set": {"name": "Kit", "role": "helper"},
}
