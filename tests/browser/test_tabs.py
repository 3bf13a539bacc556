"""Two tabs of one phone share one store: neither harms the other's entries, and none is sent twice."""

from collections import Counter

from playwright.sync_api import Page, expect

from tests.browser.folds import rows
from tests.browser.places import BIN, dumped, fill, visit, without_figures
from tests.browser.server import LiveServer

EACH, FIRST_COUNT = 8, 1000
QUIET_MS = 3_000
NOTE_SENT = """
globalThis.calls = 0;
globalThis.sent = [];
const ask = globalThis.fetch;
globalThis.fetch = async (url, init) => {
  if (!String(url).endsWith("/api/sync")) return ask(url, init);
  calls += 1;
  const packed = new Headers(init.headers).get("Content-Encoding") === "gzip";
  const text = packed
    ? await new Response(init.body.stream().pipeThrough(new DecompressionStream("gzip"))).text()
    : init.body;
  const reply = await ask(url, init);
  if (reply.ok) sent.push(...JSON.parse(text).entries.map(one => one.id));
  return reply;
};
"""
"""Run before the page: counts the calls, and notes the id of every entry in one that was answered."""


def save(page: Page, server: LiveServer, count: int) -> None:
    """Record how many prepupae came."""
    page.goto(f"{server.url}/#/station/{BIN}/record/self_harvest")
    page.get_by_role("textbox", name="How many").fill(str(count))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved on this phone.")).to_be_visible()


def called(tabs: list[Page]) -> int:
    """Give how many calls of sync the tabs have made."""
    return sum(int(tab.evaluate("() => calls")) for tab in tabs)


def test_two_tabs_see_each_others_entries_and_send_each_once(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    without_figures(phone, live_server)
    phone.context.add_init_script(NOTE_SENT)
    live_server.stop()
    tabs = [phone, phone.context.new_page()]
    for tab in tabs:
        tab.goto("about:blank")
        tab.goto(f"{live_server.url}/#/round")
        expect(tab.get_by_role("link", name="Larvae bin")).to_be_visible()
    for number in range(EACH):
        for which, tab in enumerate(tabs):
            save(tab, live_server, FIRST_COUNT + 2 * number + which)
    assert len(rows(phone)) == 2 * EACH
    for tab in tabs:
        tab.goto(f"{live_server.url}/#/place/sync")
        expect(tab.get_by_text(f"{2 * EACH} not sent yet").first).to_be_visible()
    # Nobody answers: the tabs wait longer and longer, and don't set each other off.
    before = called(tabs)
    phone.wait_for_timeout(QUIET_MS)
    assert called(tabs) - before <= 2 * len(tabs)

    live_server.start()
    for tab in tabs:
        tab.evaluate("() => { dispatchEvent(new Event('online')) }")
    for tab in tabs:
        expect(tab.get_by_text("All sent").first).to_be_visible(timeout=30_000)
    sent = Counter(one for tab in tabs for one in tab.evaluate("() => sent"))
    assert sorted(sent.values()) == [1] * (2 * EACH)
    counts = Counter(one["count"] for one in dumped(live_server) if one.get("count", 0) >= FIRST_COUNT)
    assert counts == {FIRST_COUNT + number: 1 for number in range(2 * EACH)}
