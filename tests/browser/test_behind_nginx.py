"""The documented proxy in real Chromium: a phone pairs by the name people call, and stays when it is gone."""

import os
import re
from pathlib import Path

from playwright.sync_api import Playwright, expect

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.places import fill
from tests.browser.test_pairing import pair
from tests.browser.trust import trust
from tests.nginx import NAME, running


def test_the_service_worker_reaches_over_the_whole_app_behind_the_documented_proxy(
    playwright: Playwright, chromium_path: str, tmp_path: Path
) -> None:
    with running(tmp_path / "proxy") as proxy:
        fill(proxy.server)
        trust(tmp_path, proxy.trusted)
        context = playwright.chromium.launch_persistent_context(
            tmp_path / "profile",
            executable_path=chromium_path,
            args=[*FLAGS, f"--host-resolver-rules=MAP {NAME}:443 127.0.0.1:{proxy.port}"],
            env={**os.environ, "HOME": str(tmp_path)},
            viewport=SMALL_PHONE,
            is_mobile=True,
            has_touch=True,
            locale="en-GB",
        )
        page = context.new_page()
        link = re.search(rf"https://{NAME}/#/pair/\S+", proxy.server.run("pair", "--for", "Kit"))
        assert link
        pair(page, link[0])
        scope = page.evaluate("() => navigator.serviceWorker.ready.then(one => one.scope)")
        assert scope == f"https://{NAME}/"
        page.wait_for_function("() => navigator.serviceWorker.controller !== null")
        proxy.server.stop()
        page.reload()
        expect(page.get_by_text("Trough").first).to_be_visible(timeout=20_000)
        context.close()
