"""A small place for the browser tests, with a few weeks behind it, and the ways a test uses the phone."""

import json
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from playwright.sync_api import Page, expect

from tests.browser.server import LiveServer

BED, BIN = "trough", "under-stair"
DAYS = 24
LONGEST_S = 60.0

Raw = dict[str, Any]


def kg(value: float) -> Raw:
    return {"value": value, "unit": "kg"}


def celsius(value: float) -> Raw:
    return {"value": value, "unit": "degC"}


def log() -> Iterator[Raw]:
    """Give a bed of two sides and a larvae bin, fed and looked after until yesterday."""
    now = datetime.now().astimezone()

    def entry(kind: str, ago_days: float, **fields: Any) -> Raw:
        at = (now - timedelta(days=ago_days)).isoformat(timespec="seconds")
        return {"id": f"{kind}-{ago_days:g}", "kind": kind, "at": at, "by": "ana", **fields}

    bed = {"type": "bed", "name": "Trough", "order": 1, "side_area": {"value": 0.6, "unit": "m^2"}}
    sides = {"side_a_name": "wall side", "side_b_name": "tree side", "feeding_side": "a"}
    grubs = {"type": "bin", "name": "Larvae bin", "order": 2, "bin_area": {"value": 0.4, "unit": "m^2"}}
    things: tuple[tuple[str, str, Raw], ...] = (
        ("place", "place", {"name": "Test place", "invented": True}),
        ("station", BED, {**bed, **sides, "start_worms": kg(1.2)}),
        ("station", BIN, grubs),
        ("person", "ana", {"name": "Ana", "role": "host"}),
        ("person", "kit", {"name": "Kit", "role": "helper"}),
        ("container", "caddy", {"name": "Caddy", "volume": {"value": 5, "unit": "L"}, "full_mass": kg(2.4)}),
    )
    for what, item, fields in things:
        yield {**entry("setup", DAYS, what=what, item=item, set=fields), "id": f"set-{what}-{item}"}
    for day in range(DAYS, 0, -1):
        yield {**entry("feed", day, station=BED, side="a", feedstock="vegetable_scraps", amount=kg(0.5))}
        yield {
            **entry("feed", day - 0.01, station=BIN, feedstock="fruit_scraps", amount=kg(0.4)),
        }
        yield entry("reading", day - 0.02, station=BED, side="a", temperature=celsius(19.0))
        yield entry("reading", day - 0.03, station=BIN, temperature=celsius(27.0))
        yield entry("self_harvest", day - 0.04, station=BIN, count=60 + day)


def fill(server: LiveServer) -> None:
    """Put the small place into a running server's log."""
    server.run("load", "-", given="\n".join(json.dumps(entry) for entry in log()))


def visit(page: Page, server: LiveServer) -> None:
    """Open the app for the first time with signal, until it would open without."""
    page.goto(server.url)
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    expect(page.get_by_text("All sent")).to_be_visible(timeout=20_000)
    expect(page.get_by_text("g today").first).to_be_visible(timeout=20_000)


READY = "main:not([aria-busy]) h1"
WALK = """async path => {
  const away = path === "place/about" ? "place/cautions" : "place/about";
  for (const one of [away, path]) {
    await new Promise(done => {
      if (location.hash === `#/${one}`) return done();
      addEventListener("hashchange", () => setTimeout(done), { once: true });
      location.hash = `#/${one}`;
    });
  }
}"""
"""By way of another screen, so that this one is drawn anew and no sheet of before is open."""


def walk(page: Page, path: str) -> None:
    """Go to a screen as a link does, without opening the app anew."""
    page.evaluate(WALK, path)
    page.wait_for_selector(READY)


def without_figures(page: Page, server: LiveServer) -> None:
    """Choose that the phone doesn't reckon for itself, where a test opens it very often."""
    page.goto(f"{server.url}/#/place/fold")
    page.get_by_role("button", name="No figures").press("Enter")
    expect(page.get_by_role("button", name="No figures", pressed=True)).to_be_visible()


def stations(page: Page) -> Raw:
    """Give the stations of the plan the phone shows, by id."""
    return {one["id"]: one for one in kept(page, "plan")["plan"]["stations"]}


KEPT = """name => new Promise((resolve, reject) => {
  const asked = indexedDB.open("fallowside");
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const got = asked.result.transaction("kept").objectStore("kept").get(name);
    got.onsuccess = () => { asked.result.close(); resolve(got.result ?? null); };
  };
})"""


def kept(page: Page, name: str) -> Any:
    """Read what the phone keeps by a name."""
    return page.evaluate(KEPT, name)


def until(page: Page, question: str, about: Any = None) -> None:
    """Wait for a yes that comes as a promise; `wait_for_function` takes the promise itself for a yes."""
    deadline = time.monotonic() + LONGEST_S
    while not page.evaluate(question, about):
        assert time.monotonic() < deadline, f"never so: {question}"
        page.wait_for_timeout(50)


def dumped(server: LiveServer) -> list[Raw]:
    """Give every entry of the server's log."""
    return [json.loads(line) for line in server.run("dump").splitlines()]
