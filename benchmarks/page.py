"""Weigh the first visit and time the start without a server, in real Chromium.

    python -m benchmarks.page [--runs 5]

The first visit is counted as the browser fetched it: every file asked for until the first heading stood,
raw and as gzip sends it; in the other languages only the sum is told.
The offline start is a reload with the server stopped, until
the heading stands; beside it, in the same run, the same reload with the server up.
"""

import argparse
import shutil
import statistics
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from fallowside import words
from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.server import LiveServer
from tests.browser.weighing import weigh


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
        by_language = {}
        for language in words.LANGUAGES:
            context = browser.new_context(
                viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale=language
            )
            by_language[language] = weigh(context, server.url)
            context.close()
        sizes = by_language["en"]
        context = browser.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en")
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
    for language, weighed in by_language.items():
        print(f"{sum(small for _, small in weighed.values()):>19}  in {language}")
    print(f"start: {online:.0f} ms with the server, {offline:.0f} ms without ({offline / online:.2f}x)")


if __name__ == "__main__":
    main()
