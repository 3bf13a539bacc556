"""Weigh the first visit and time the start without a server, in real Chromium.

    python -m benchmarks.page [--runs 5]

The first visit is counted as the browser fetched it: every file asked for until the first heading stood,
raw and as gzip sends it. The offline start is a reload with the server stopped, until
the heading stands; beside it, in the same run, the same reload with the server up.
"""

import argparse
import gzip
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from urllib.request import urlopen

from playwright.sync_api import BrowserContext, Page, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.server import LiveServer


def _weigh(context: BrowserContext, url: str) -> dict[str, tuple[int, int]]:
    """Visit once and give raw and gzip size of all that the first screen fetched of the app, by path."""
    fetched: list[str] = []
    page = context.new_page()
    page.on("request", lambda request: fetched.append(request.url))
    page.goto(url)
    page.get_by_role("heading").first.wait_for()
    names = {name.removeprefix(url) for name in fetched if "/api/" not in name}
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.close()
    sizes = {}
    for name in names:
        with urlopen(url + name, timeout=10.0) as answer:
            body = answer.read()
        sizes[name] = (len(body), len(gzip.compress(body, 6)))
    return sizes


def _start_ms(page: Page) -> float:
    start = time.perf_counter()
    page.reload(wait_until="commit")
    page.get_by_role("heading").first.wait_for()
    return (time.perf_counter() - start) * 1000.0


def main() -> None:
    """Run the benchmark and print its table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    runs = parser.parse_args().runs
    chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = LiveServer(Path(folder))
        server.start()
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        context = browser.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True)
        sizes = _weigh(context, server.url)
        page = context.new_page()
        page.goto(server.url)
        page.get_by_role("heading").first.wait_for()
        online = statistics.median(_start_ms(page) for _ in range(runs))
        server.stop()
        offline = statistics.median(_start_ms(page) for _ in range(runs))
        browser.close()
    raw, packed = (sum(size[which] for size in sizes.values()) for which in (0, 1))
    for name, (plain, small) in sorted(sizes.items(), key=lambda pair: -pair[1][1]):
        print(f"{plain:>9} {small:>9}  {name}")
    print(f"{raw:>9} {packed:>9}  first screen in all, bytes raw and gzip")
    print(f"start: {online:.0f} ms with the server, {offline:.0f} ms without ({offline / online:.2f}x)")


if __name__ == "__main__":
    main()
