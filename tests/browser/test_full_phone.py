"""A phone that has no room left, and a phone that has a great deal to send."""

from collections import Counter
from datetime import datetime, timedelta
from random import Random
from typing import Any

from playwright.sync_api import CDPSession, Page, expect

from tests.browser.folds import rows, write_rows
from tests.browser.places import BIN, Raw, dumped, fill, visit
from tests.browser.server import LiveServer

ROOM_BYTES = 50_000_000
"""The app and its files take less; what the test fills up with doesn't fit any more."""
LONG_MS = 120_000
MANY, MOST_A_CALL = 10_000, 1_000
LARGEST_SHARE = 0.25
"""Of the JSON, on the wire: the goal this project has set itself."""

OVERFILL = """bytes => new Promise((resolve, reject) => {
  const asked = indexedDB.open("filler", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("bytes");
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const tx = asked.result.transaction("bytes", "readwrite");
    tx.objectStore("bytes").add(new Uint8Array(bytes), 1);
    const end = () => { asked.result.close(); resolve(tx.error?.name ?? "fitted"); };
    tx.oncomplete = tx.onabort = end;
  };
})"""
COUNT_CALLS = """
globalThis.calls = [];
const send = globalThis.fetch;
globalThis.fetch = async (url, init) => {
  if (String(url).endsWith("/api/sync")) {
    const packed = new Headers(init.headers).get("Content-Encoding") === "gzip";
    const text = packed
      ? await new Response(init.body.stream().pipeThrough(new DecompressionStream("gzip"))).text()
      : init.body;
    const raw = new Blob([text]).size;
    const { entries } = JSON.parse(text);
    calls.push({ entries: entries.length, raw, wire: packed ? init.body.size : raw });
  }
  return send(url, init);
};
"""
"""Run before the page: notes what each call of sync carries, and how many bytes of it are sent."""


def give_room(devtools: CDPSession, server: LiveServer, quota_bytes: int | None) -> None:
    """Let the app's address have so much room on this phone; with nothing said, as much as there is."""
    quota = {} if quota_bytes is None else {"quotaSize": quota_bytes}
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": server.url, **quota})


def counted(page: Page, server: LiveServer, count: int) -> None:
    """Type how many prepupae came, and press 'Save'."""
    page.goto(f"{server.url}/#/station/{BIN}/record/self_harvest")
    page.get_by_role("textbox", name="How many").fill(str(count))
    page.get_by_role("button", name="Save", exact=True).click()


def harvests(entries: list[Raw]) -> Counter[int]:
    """Tell how often each count of a thousand or more is among entries."""
    return Counter(one["count"] for one in entries if one.get("count", 0) >= 1_000)


def test_a_full_phone_says_so_loses_nothing_and_saves_again_when_there_is_room(
    live_server: LiveServer, phone: Page
) -> None:
    devtools = phone.context.new_cdp_session(phone)
    give_room(devtools, live_server, ROOM_BYTES)
    fill(live_server)
    visit(phone, live_server)
    live_server.stop()
    counted(phone, live_server, 1_001)
    expect(phone.get_by_text("Saved on this phone")).to_be_visible()

    give_room(devtools, live_server, 1)
    assert phone.evaluate(OVERFILL, ROOM_BYTES) == "QuotaExceededError"
    counted(phone, live_server, 1_002)
    alert = phone.get_by_role("alert")
    expect(alert).to_contain_text("Not saved")
    expect(alert).to_contain_text("What was saved before is safe. Free some space, then try again.")
    expect(phone.get_by_text("Saved on this phone")).to_have_count(0)

    # What was saved is there still, and the app opens with it while there is no room.
    other = phone.context.new_page()
    other.goto(f"{live_server.url}/#/place/sync")
    expect(other.get_by_text("1,001 larvae")).to_be_visible(timeout=20_000)
    assert harvests(rows(other)) == {1_001: 1}

    # Nor does an answer that can't be written down make anything look as if it had been sent.
    live_server.start()
    other.get_by_role("button", name="Send now").click()
    expect(other.locator(".lead")).to_contain_text("could not be kept on this phone. Free some space")
    assert harvests(rows(other)) == {1_001: 1}
    other.close()
    phone.evaluate("() => dispatchEvent(new Event('online'))")
    expect(phone.get_by_text("Not sent: look here")).to_be_visible(timeout=20_000)
    expect(phone.get_by_role("textbox", name="How many")).to_have_value("1,002")

    give_room(devtools, live_server, None)
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_text("Saved on this phone")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=20_000)
    assert harvests(dumped(live_server)) == {1_001: 1, 1_002: 1}


def many() -> list[Raw]:
    """Give as many readings as a phone may have to send, with ids no packing can make small."""
    chance, start = Random(10), datetime(2026, 1, 1, 6).astimezone()

    def reading(number: int) -> dict[str, Any]:
        at = (start + timedelta(minutes=number)).isoformat(timespec="seconds")
        digits = f"{chance.getrandbits(128):032x}"
        return {
            "id": "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:])),
            "at": at,
            "noted_at": at,
            "device": "019cd0f1-5a2b-7c3d-8e4f-0123456789ab",
            "by": "ana",
            "kind": "reading",
            "station": BIN,
            "temperature": {"value": chance.randrange(240, 320) / 10, "unit": "degC"},
        }

    return [reading(number) for number in range(MANY)]


def test_ten_thousand_entries_drain_in_ten_calls_at_a_quarter_of_their_size(
    live_server: LiveServer, phone: Page
) -> None:
    phone.add_init_script(COUNT_CALLS)
    fill(live_server)
    visit(phone, live_server)
    before = len(dumped(live_server))
    live_server.stop()
    write_rows(phone, many())
    live_server.start()
    phone.goto(f"{live_server.url}/#/place/sync")
    phone.evaluate("() => { calls.length = 0 }")
    phone.get_by_role("button", name="Send now").click()
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=LONG_MS)
    calls = [one for one in phone.evaluate("() => calls") if one["entries"]]
    assert [one["entries"] for one in calls] == [MOST_A_CALL] * (MANY // MOST_A_CALL)
    share = sum(one["wire"] for one in calls) / sum(one["raw"] for one in calls)
    assert share <= LARGEST_SHARE, share
    assert len(dumped(live_server)) == before + MANY


def test_of_many_entries_that_wait_the_newest_are_drawn_and_all_by_a_press(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    live_server.stop()
    write_rows(phone, many()[:60])
    phone.goto(f"{live_server.url}/#/place/sync")
    phone.reload()
    waiting = phone.locator("ul.rows li")
    expect(waiting).to_have_count(50, timeout=LONG_MS)
    phone.get_by_role("button", name="Show all 60").click()
    expect(waiting).to_have_count(60)
