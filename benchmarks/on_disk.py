"""What the phone's store costs, in real Chromium: a tap until it is on the disk, ten thousand entries sent.

    python -m benchmarks.on_disk [--taps 40] [--entries 10000] [--runs 3]

*Tap*: from the press on 'Save' until the transaction that holds the entry has completed, asked for with
durability `strict`; in turns with the press on a bare button of the same page, which puts such an entry into
a store of its own.

*Drain*: from the moment the signal is back until the round's screen says that all is sent, with that many
entries unsent: read, packed, sent to the real service, judged, stored, answered, marked. In turns with a page
that reads the same entries from its own IndexedDB, a thousand at a time, and posts each thousand to
`raw_endpoint.py`, which parses and stores them at the same durability. The fold is left out on both sides.
"""

import argparse
import contextlib
import json
import os
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, expect, sync_playwright

from benchmarks.sync import entries, server, setups
from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.folds import write_rows
from tests.browser.places import BIN, fill, visit, without_figures
from tests.browser.server import LiveServer
from tests.ports import free_port

LONG_MS = 120_000
WATCH = """
globalThis.marks = {};
addEventListener("click", () => { marks.pressed = performance.now(); marks.durable = 0; }, true);
const begin = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (stores, mode, options) {
  const tx = begin.call(this, stores, mode, options);
  if (mode === "readwrite" && stores === "rows") {
    tx.addEventListener("complete", () => { marks.durable = performance.now(); });
  }
  return tx;
};
"""
BARE = """entry => new Promise(done => {
  const asked = indexedDB.open("bare", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("rows", { autoIncrement: true });
  asked.onsuccess = () => {
    const button = document.body.appendChild(document.createElement("button"));
    button.textContent = "Bare";
    button.style = "position: fixed; inset: 0 auto auto 0; z-index: 9";
    button.onclick = () => {
      const began = performance.now();
      const tx = asked.result.transaction("rows", "readwrite", { durability: "strict" });
      tx.objectStore("rows").put({ entry });
      tx.oncomplete = () => {
        globalThis.bare = performance.now() - began;
        asked.result.close();
        button.remove();
      };
    };
    globalThis.bare = 0;
    done();
  };
})"""
"""Lays a button on the page whose press puts an entry, and does nothing else."""
KEEP = """entries => new Promise((done, fail) => {
  const asked = indexedDB.open("bare", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("rows", { autoIncrement: true });
  asked.onerror = fail;
  asked.onsuccess = () => {
    const tx = asked.result.transaction("rows", "readwrite", { durability: "strict" });
    for (const entry of entries) tx.objectStore("rows").put({ entry });
    tx.oncomplete = () => { asked.result.close(); done(); };
  };
})"""
PUSH = """async size => {
  const opened = await new Promise((done, fail) => {
    const asked = indexedDB.open("bare", 1);
    asked.onerror = fail;
    asked.onsuccess = () => done(asked.result);
  });
  const began = performance.now();
  let after = 0;
  for (;;) {
    const rows = opened.transaction("rows").objectStore("rows");
    const range = IDBKeyRange.lowerBound(after, true);
    const asked = rows.getAll(range, size);
    const found = await new Promise(done => { asked.onsuccess = () => done(asked.result); });
    if (found.length === 0) break;
    after += found.length;
    const body = JSON.stringify({ device: "bare", cursor: 0, entries: found.map(row => row.entry) });
    const reply = await fetch("/api/sync", { method: "POST", body });
    if (!reply.ok) throw new Error(String(reply.status));
    await reply.json();
  }
  opened.close();
  return performance.now() - began;
}"""
DRAIN = """() => {
  globalThis.drained = new Promise(done => {
    let began;
    addEventListener("online", () => { began = performance.now(); }, true);
    const look = () => {
      const sent = document.querySelector("header")?.textContent.includes("All sent");
      if (began !== undefined && sent) done(performance.now() - began);
    };
    new MutationObserver(look).observe(document, { subtree: true, childList: true, characterData: true });
  });
}"""
"""Run before the signal comes back."""


def served(folder: Path) -> LiveServer:
    """Run the real service on a folder of its own."""
    folder.mkdir()
    live = LiveServer(folder)
    live.start()
    return live


def new_page(browser: Browser) -> Page:
    """Open a phone with nothing stored."""
    context = browser.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB")
    return context.new_page()


def taps(browser: Browser, live: LiveServer, count: int) -> None:
    """Measure taps with no service, and bare puts between them."""
    page = new_page(browser)
    page.add_init_script(WATCH)
    visit(page, live)
    without_figures(page, live)
    live.stop()
    ours, bare = [], []
    for number in range(count):
        page.goto(f"{live.url}/#/station/{BIN}/record/self_harvest")
        page.get_by_role("textbox", name="How many").fill(str(60 + number))
        page.get_by_role("button", name="Save", exact=True).click()
        page.wait_for_function("() => marks.durable > 0")
        ours.append(page.evaluate("() => marks.durable - marks.pressed"))
        page.wait_for_timeout(100)
        entry = {"id": f"bare-{number}", "kind": "self_harvest", "station": BIN, "count": 60 + number}
        page.evaluate(BARE, entry)
        page.get_by_role("button", name="Bare").click()
        page.wait_for_function("() => bare > 0")
        bare.append(page.evaluate("() => bare"))
        page.wait_for_timeout(100)
    page.context.close()
    for name, of in (("median", statistics.median), ("slowest of all", max)):
        print(
            f"tap to disk, {name:<15} {of(ours):6.1f} ms   bare put {of(bare):6.1f} ms   "
            f"ratio {of(ours) / of(bare):.2f}"
        )


def drain(browser: Browser, folder: Path, count: int, run: int) -> tuple[float, float]:
    """Measure one drain of ours and one bare push. [ms]"""
    made = entries(count)
    live = served(folder / f"ours-{run}")
    live.run("load", "-", given="\n".join(map(json.dumps, setups())))
    page = new_page(browser)
    page.goto(live.url)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    expect(page.get_by_text("All sent")).to_be_visible(timeout=LONG_MS)
    without_figures(page, live)
    page.context.set_offline(True)
    write_rows(page, made)
    page.goto("about:blank")
    page.goto(f"{live.url}/#/round")
    expect(page.locator("header")).to_contain_text("not sent")
    page.wait_for_timeout(1_000)
    page.evaluate(DRAIN)
    page.context.set_offline(False)
    ours = float(page.evaluate("() => drained"))
    page.context.close()
    live.stop()

    port = free_port()
    command = [sys.executable, "-m", "uvicorn", "raw_endpoint:app", "--port", str(port), "--no-access-log"]
    with server(command, {"RAW_DATABASE": str(folder / f"raw-{run}.sqlite3")}, port):
        page = new_page(browser)
        page.goto(f"http://127.0.0.1:{port}/api/health")
        page.evaluate(KEEP, made)
        bare = float(page.evaluate(PUSH, 1000))
        page.context.close()
    return ours, bare


def main() -> None:
    """Run both, and print their ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--taps", type=int, default=40)
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    print(f"load before: {os.getloadavg()[0]:.1f}")
    with contextlib.ExitStack() as opened:
        folder = Path(opened.enter_context(tempfile.TemporaryDirectory()))
        driver = opened.enter_context(sync_playwright())
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        opened.callback(browser.close)
        live = served(folder / "taps")
        opened.callback(live.stop)
        fill(live)
        taps(browser, live, asked.taps)
        found = [drain(browser, folder, asked.entries, run) for run in range(asked.runs)]
    ours, bare = (statistics.median(one) for one in zip(*found, strict=True))
    print(f"drain of {asked.entries:,}: {ours:.0f} ms   read and raw push {bare:.0f} ms")
    print(f"ratio {ours / bare:.2f}")


if __name__ == "__main__":
    main()
