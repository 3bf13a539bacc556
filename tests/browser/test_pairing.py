"""A phone comes in over real TLS with the local authority trusted, works with no signal, and is shut out."""

import json
import os
import re
import ssl
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, expect

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.places import BED, dumped, fill, kept
from tests.browser.server import LiveServer
from tests.browser.trust import trust
from tests.tls import greeted

NAME = "garden.example"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    """Give a server with https of its own, and a small place."""
    server = LiveServer(tmp_path_factory.mktemp("home"), "--home")
    server.start()
    fill(server)
    yield server
    server.stop()


@pytest.fixture
def trusting(playwright: Playwright, chromium_path: str, home: LiveServer, tmp_path: Path) -> Iterator[Page]:
    """Give a page of a phone that trusts the authority, and see to it that it asks nobody else."""
    trust(tmp_path, home.authority)
    context = playwright.chromium.launch_persistent_context(
        tmp_path / "profile",
        executable_path=chromium_path,
        args=FLAGS,
        env={**os.environ, "HOME": str(tmp_path)},
        viewport=SMALL_PHONE,
        is_mobile=True,
        has_touch=True,
        locale="en-GB",
    )
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    yield context.new_page()
    context.close()
    assert [url for url in asked if not url.startswith((home.url, "data:", "blob:"))] == []


def link_for(server: LiveServer, person: str) -> str:
    """Ask for a pairing link at the terminal."""
    found = re.search(r"https://\S+/#/pair/\S+", server.run("pair", "--for", person))
    assert found
    return found[0]


def pair(page: Page, link: str) -> None:
    page.goto(link)
    expect(page.get_by_label("Code")).to_have_value(re.compile(r"^[A-Z2-9-]{14}$"))
    assert "/pair/" not in page.url
    page.get_by_role("button", name="Pair this phone").click()
    expect(page.get_by_text("All sent").first).to_be_visible(timeout=20_000)


def record(page: Page, server: LiveServer) -> None:
    """Note a reading at the bed."""
    page.goto(f"{server.url}/#/station/{BED}/record/signs")
    page.get_by_role("button", name="Flies").first.click()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved on this phone")).to_be_visible()


def test_a_phone_pairs_by_link_works_with_no_signal_and_is_shut_out_without_loss(
    trusting: Page, home: LiveServer
) -> None:
    page = trusting
    page.goto(home.url)
    expect(page.get_by_role("heading", name="Pair this phone")).to_be_visible(timeout=20_000)
    assert page.evaluate("isSecureContext")
    pair(page, link_for(home, "Kit"))
    assert kept(page, "person") == "kit"
    expect(page.get_by_text("Trough").first).to_be_visible()
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    assert page.evaluate("document.cookie") == ""

    home.stop()
    page.reload()
    expect(page.get_by_text("Trough").first).to_be_visible(timeout=20_000)

    home.start()
    (line,) = [one for one in home.run("phones").splitlines() if "Kit" in one]
    home.run("unpair", line.split()[0])
    page.reload()
    expect(page.get_by_text("This phone isn’t paired")).to_be_visible(timeout=20_000)
    record(page, home)
    expect(page.get_by_text("1 entry waits safely on this phone")).to_be_visible()
    before = len(dumped(home))
    pair(page, link_for(home, "Kit"))
    assert len(dumped(home)) == before + 1


def test_a_host_lets_a_helper_in_from_the_phone_and_sees_what_waits(trusting: Page, home: LiveServer) -> None:
    page = trusting
    pair(page, link_for(home, "Ana"))
    page.goto(f"{home.url}/#/place/phones")
    expect(page.get_by_text("This is the phone in your hand")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Kit")).click()
    expect(page.get_by_label("The pairing link as a code for a camera")).to_be_visible()
    # Somebody whose phone was never here points its camera at the way to the page of trust first.
    page.get_by_text("As a code for a camera").click()
    trusted_at = json.loads((home.data / "serving.json").read_text(encoding="utf-8"))["trust_address"]
    expect(page.get_by_label(trusted_at)).to_be_visible()
    code = page.locator(".code").inner_text()
    assert re.fullmatch(r"([A-Z2-9]{4}-){2}[A-Z2-9]{4}", code)


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1_1, ssl.TLSVersion.TLSv1_2])
def test_at_home_too_no_tls_of_yesterday_is_spoken(home: LiveServer, version: ssl.TLSVersion) -> None:
    if version is ssl.TLSVersion.TLSv1_2:
        assert greeted(home.port, "127.0.0.1", home.authority, version) == "TLSv1.2"
        return
    # The server's own loop hangs up where another says why.
    with pytest.raises(ssl.SSLError, match=r"ALERT_PROTOCOL_VERSION|EOF occurred"):
        greeted(home.port, "127.0.0.1", home.authority, version)


def test_a_phone_that_does_not_trust_the_authority_is_not_let_near(
    playwright: Playwright, chromium_path: str, home: LiveServer
) -> None:
    browser = playwright.chromium.launch(executable_path=chromium_path, args=FLAGS)
    page = browser.new_page()
    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(home.url)
    browser.close()


def test_on_plain_http_by_another_name_the_app_says_what_will_not_work(
    playwright: Playwright, chromium_path: str, tmp_path: Path
) -> None:
    server = LiveServer(tmp_path, FALLOWSIDE_HOSTS=NAME)
    server.start()
    try:
        rules = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
        browser = playwright.chromium.launch(executable_path=chromium_path, args=[*FLAGS, rules])
        page = browser.new_page(viewport=SMALL_PHONE)
        page.goto(f"http://{NAME}:{server.port}/#/place")
        said = page.get_by_text("It can’t be kept on the phone or used with no signal")
        expect(page.get_by_text("This phone isn’t paired").or_(said)).to_be_visible(timeout=20_000)
        found = re.search(r"#/pair/\S+", server.run("pair"))
        assert found
        pair(page, f"http://{NAME}:{server.port}/{found[0]}")
        expect(said).to_be_visible(timeout=20_000)
        expect(said).to_contain_text("fallowside serve --home")
        page.get_by_role("button", name="Understood").click()
        expect(said).to_be_hidden()
        browser.close()
    finally:
        server.stop()
