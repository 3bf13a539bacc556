"""Ways a test looks at the fold on the phone: what its worker says and keeps, and what it should say."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from tests.browser.places import Raw
from tests.browser.server import LiveServer

FILES, MEMORY = "fallowside-fold", "fallowside-fold-memory"
PATIENCE_MS = 120_000
"""A start of the interpreter takes its time on a busy machine."""

LISTEN = """
globalThis.told = [];
globalThis.Worker = class extends Worker {
  constructor(...words) {
    super(...words);
    globalThis.worker = this;
    this.addEventListener("message", ({ data }) => told.push({ ...data, holds: undefined }));
  }
};
"""
"""Run before the page: remembers what the worker tells, and the worker itself, so that it can be ended."""

ROWS = """entries => new Promise((resolve, reject) => {
  const asked = indexedDB.open("fallowside");
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const tx = asked.result.transaction("rows", "readwrite");
    for (const entry of entries) tx.objectStore("rows").add({ entry });
    tx.oncomplete = () => {
      asked.result.close();
      const tabs = new BroadcastChannel("fallowside");
      tabs.postMessage("changed");
      tabs.close();
      resolve();
    };
  };
})"""
UNSENT = """() => new Promise((resolve, reject) => {
  const asked = indexedDB.open("fallowside");
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const got = asked.result.transaction("rows").objectStore("rows").getAll();
    got.onsuccess = () => { asked.result.close(); resolve(got.result.map(row => row.entry)); };
  };
})"""


def write_rows(page: Page, entries: Sequence[Raw]) -> None:
    """Save entries as another tab of the app would: into the store, then word of it."""
    page.evaluate(ROWS, list(entries))


def rows(page: Page) -> list[Raw]:
    """Give the entries made on this phone that still stand one by one."""
    found: list[Raw] = page.evaluate(UNSENT)
    return found


def planned(page: Page, entries: int) -> str:
    """Wait until the worker has planned from so many entries; give its text."""
    page.wait_for_function(
        """entries => told.some(one => one.type === "planned"
             && JSON.parse(one.text).made_from.entries === entries)""",
        arg=entries,
        timeout=PATIENCE_MS,
    )
    said: list[str] = page.evaluate("() => told.filter(one => one.type === 'planned').map(one => one.text)")
    return next(text for text in reversed(said) if json.loads(text)["made_from"]["entries"] == entries)


def started(page: Page, times: int = 1) -> str:
    """Wait until the worker has been ready so many times; tell how it came to be the last time."""
    opened = "() => told.filter(one => one.type === 'opened')"
    page.wait_for_function(f"times => ({opened})().length >= times", arg=times, timeout=PATIENCE_MS)
    return str(page.evaluate(opened)[-1]["boot"])


def wait_for_memory(page: Page) -> None:
    """Wait until the interpreter's memory is kept for the next start."""
    page.wait_for_function(
        "() => told.some(one => one.type === 'kept' && one.bytes > 0)", timeout=PATIENCE_MS
    )


def printed(folder: Path, entries: Sequence[Raw], at: str) -> str:
    """Give what `fallowside plan --json` prints of these entries, in a store of their own."""
    other = LiveServer(folder)
    # As a phone writes them: the store keeps the bytes it got.
    other.run("load", "-", given="\n".join(as_javascript(entry) for entry in entries))
    return other.run("plan", "--json", "--at", at).removesuffix("\n")


def as_javascript(value: Any) -> str:
    """Write JSON as JavaScript does: a whole number has no point."""
    return json.dumps(_whole(value), ensure_ascii=False, separators=(",", ":"))


def _whole(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _whole(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_whole(one) for one in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value
