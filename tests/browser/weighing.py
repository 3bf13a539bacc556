"""What a first visit fetches, weighed."""

import gzip
from urllib.request import urlopen

from playwright.sync_api import BrowserContext


def weigh(context: BrowserContext, url: str) -> dict[str, tuple[int, int]]:
    """Visit once and give raw and gzip size of all the first screen fetched of the app, by path. [bytes]"""
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
