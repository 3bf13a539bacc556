"""The web app as files, and what every answer carries."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fallowside.api import site
from fallowside.api.app import build_app
from fallowside.store.database import Database
from tests.stores import body


@pytest.mark.parametrize("path", ["/", "/index.html", "/place/bed", "/round"])
def test_the_page_answers_at_its_address_and_at_links_into_it(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/html")
    assert answer.headers["cache-control"] == "no-cache"


@pytest.mark.parametrize("path", ["/missing.js", "/assets/missing-00.js", "/../pyproject.toml"])
def test_a_file_that_is_not_there_is_not_the_page(client: TestClient, path: str) -> None:
    assert "<title>App" not in client.get(path).text or path.startswith("/..")


@pytest.mark.parametrize("path", ["/api/nothing", "/api/", "/api"])
def test_an_address_of_the_api_that_is_not_there_is_a_problem(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert answer.json()["code"] == "not_found"


def test_files_outside_the_app_are_not_served(client: TestClient, web: Path) -> None:
    (web.parent / "secret.txt").write_text("secret")
    for path in ("/../secret.txt", "/%2e%2e/secret.txt", "/assets/..%2f..%2fsecret.txt"):
        assert "secret" not in client.get(path).text


def test_named_by_content_means_kept_for_ever(client: TestClient) -> None:
    assert "immutable" in client.get("/assets/app-1a2b.js").headers["cache-control"]


@pytest.mark.parametrize("path", ["/", "/sw.js", "/manifest.webmanifest"])
def test_what_may_change_is_asked_for_each_time(client: TestClient, path: str) -> None:
    assert client.get(path).headers["cache-control"] == "no-cache"


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/assets/app-1a2b.js", "javascript"),
        ("/assets/worker-3c4d.mjs", "javascript"),
        ("/assets/core-5e6f.wasm", "application/wasm"),
        ("/manifest.webmanifest", "application/manifest+json"),
    ],
)
def test_files_have_the_type_browsers_ask_for(client: TestClient, path: str, kind: str) -> None:
    assert kind in client.get(path).headers["content-type"]


@pytest.mark.parametrize("path", ["/", "/index.html", "/round"])
@pytest.mark.parametrize(
    ("asked", "named"),
    [("de-CH, fr;q=0.9, en;q=0.8", "de"), ("nl, fr;q=0.4", "fr"), ("nl", "en"), ("", "en")],
)
def test_the_page_names_the_words_its_reader_speaks(
    client: TestClient, web: Path, path: str, asked: str, named: str
) -> None:
    for language in ("en", "de", "fr"):
        (web / "assets" / f"{language}-9c0d.js").write_text("export default {}")
    headers = client.get(path, headers={"Accept-Language": asked}).headers
    assert headers["link"] == f"</assets/{named}-9c0d.js>; rel=modulepreload"
    # A page that said so would not be found again in a phone's own store.
    assert "Accept-Language" not in headers["vary"]


def test_other_files_name_no_words(client: TestClient, web: Path) -> None:
    (web / "assets" / "en-9c0d.js").write_text("export default {}")
    for path in ("/sw.js", "/assets/app-1a2b.js", "/manifest.webmanifest"):
        assert "link" not in client.get(path).headers


def test_files_travel_packed(client: TestClient) -> None:
    packed = client.get("/assets/app-1a2b.js", headers={"Accept-Encoding": "gzip"})
    plain = client.get("/assets/app-1a2b.js", headers={"Accept-Encoding": "identity"})
    assert packed.headers["content-encoding"] == "gzip"
    assert packed.text == plain.text
    assert int(packed.headers["content-length"]) < len(plain.content)


def test_a_packed_file_beside_the_plain_one_is_taken(client: TestClient) -> None:
    with client.stream("GET", "/assets/packed-7a8b.js", headers={"Accept-Encoding": "br"}) as answer:
        assert answer.headers["content-encoding"] == "br"
        assert b"".join(answer.iter_raw()) == b"short"


def test_a_file_unchanged_is_not_sent_again(client: TestClient) -> None:
    tag = client.get("/sw.js").headers["etag"]
    assert client.get("/sw.js", headers={"If-None-Match": tag}).status_code == 304


def test_where_no_app_is_built_the_page_says_what_to_do(
    database: Database, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(site, "_PACKAGED", tmp_path / "no")
    monkeypatch.setattr(site, "_CHECKOUT", tmp_path / "no")
    answer = TestClient(build_app(database), base_url="http://localhost").get("/")
    assert answer.status_code == 503
    assert "make setup" in answer.text


@pytest.mark.parametrize("path", ["/", "/assets/app-1a2b.js", "/api/health", "/api/nothing"])
def test_every_answer_keeps_strangers_out(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "unsafe-inline" not in policy
    assert "'unsafe-eval'" not in policy
    assert "http" not in policy
    assert "*" not in policy
    closed = {"object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"}
    assert closed <= set(policy.split("; "))
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert {"camera=()", "geolocation=()", "microphone=()"} <= set(headers["permissions-policy"].split(", "))
    assert not [name for name in headers if name.startswith("access-control-") or name == "server"]


def test_answers_of_the_api_are_not_kept_by_caches(client: TestClient) -> None:
    assert client.get("/api/health").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "host", ["localhost:8000", "127.0.0.1:8000", "[::1]:8000", "192.168.1.7", "garden.example"]
)
def test_the_server_answers_to_its_own_names(client: TestClient, host: str) -> None:
    assert client.get("/api/health", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8000", "evil.local", "localhost.evil.example", ""]
)
def test_the_server_does_not_answer_to_a_strangers_name(client: TestClient, host: str) -> None:
    # A page that lets its own name point to this machine (DNS rebinding) gets nothing.
    answer = client.get("/api/health", headers={"Host": host})
    assert answer.status_code == 400
    assert answer.json()["code"] == "unknown_host"


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
    ],
)
def test_another_sites_page_may_not_write(client: TestClient, headers: dict[str, str]) -> None:
    answer = client.post("/api/sync", content=body([]), headers=headers)
    assert answer.status_code == 403
    assert answer.json()["code"] == "other_site"


@pytest.mark.parametrize("headers", [{}, {"Sec-Fetch-Site": "same-origin"}, {"Origin": "http://localhost"}])
def test_our_own_page_and_programs_may_write(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post("/api/sync", content=body([]), headers=headers).status_code == 200
