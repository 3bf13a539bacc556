"""What the phone's store costs, in real Chromium: a tap until it is on the disk, ten thousand entries sent.

    python -m benchmarks.on_disk [--taps 200] [--entries 10000] [--runs 3]

*Tap*: from the press on 'Save' until another thread, which does nothing but count the store's entries, finds
it committed (asked for with durability `strict`), and until the page itself is told so. In turns with it, on
the same page and in the same profile: the press on a bare button that puts such an entry into a store of its
own, and the same bare put with no press before it, while the page is at rest.

*Drain*: from the moment the signal is back until the round's screen says that all is sent, with that many
entries unsent: read, packed, sent to the real service, judged, stored, answered, marked. In turns with a page
that reads the same entries from its own IndexedDB, a thousand at a time, and posts each thousand to
`raw_endpoint.py`, which parses and stores them at the same durability. The fold is left out on both sides.
"""

import argparse
import contextlib
import json
import math
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
globalThis.marks = { pressed: 0, told: 0, found: 0, bare: 0 };
const FOLLOW = `
  let count, last = 0;
  onmessage = ({ data }) => {
    if (data === "follow") return void look(performance.now() + 1000);
    const asked = indexedDB.open(data);
    asked.onsuccess = async () => {
      count = () => new Promise(done => {
        const got = asked.result.transaction("rows").objectStore("rows").count();
        got.onsuccess = () => done(got.result);
      });
      last = await count();
      postMessage(0);
    };
  };
  async function look(end) {
    while (performance.now() < end) {
      const now = await count();
      if (now === last) continue;
      last = now;
      return postMessage(performance.timeOrigin + performance.now());
    }
  }
`;
globalThis.follow = store => new Promise(done => {
  globalThis.follower = new Worker(URL.createObjectURL(new Blob([FOLLOW])));
  follower.onmessage = ({ data }) => {
    if (data === 0) done();
    else marks.found = data - performance.timeOrigin - marks.pressed;
  };
  follower.postMessage(store);
});
addEventListener("click", ({ target }) => {
  marks.told = marks.found = 0;
  marks.pressed = performance.now();
  if (target.textContent === "Save") follower.postMessage("follow");
}, true);
const begin = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (stores, mode, options) {
  const tx = begin.call(this, stores, mode, options);
  if (mode === "readwrite" && stores === "rows") {
    tx.addEventListener("complete", () => { marks.told = performance.now() - marks.pressed; });
  }
  return tx;
};
"""
"""Run before the page: `marks` holds when the last press was, and how long after it what happened. [ms]"""
BARE = """() => new Promise(done => {
  const asked = indexedDB.open("bare", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("rows", { autoIncrement: true });
  asked.onsuccess = () => {
    globalThis.put = entry => new Promise(done => {
      const began = performance.now();
      const tx = asked.result.transaction("rows", "readwrite", { durability: "strict" });
      tx.objectStore("rows").put({ entry });
      tx.oncomplete = () => done(performance.now() - began);
    });
    const button = document.body.appendChild(document.createElement("button"));
    button.textContent = "Bare";
    button.style = "position: fixed; inset: 0 auto auto 0; z-index: 9";
    button.onclick = () => {
      marks.bare = 0;
      put(marks.entry).then(ms => { marks.bare = ms; });
    };
    done();
  };
})"""
"""Gives the page a bare put, and a button whose press does nothing else."""
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
    """Measure taps with no service, and between them bare puts, pressed for and at rest."""
    # The one that follows the store comes from no file of the app.
    context = browser.new_context(
        viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB", bypass_csp=True
    )
    page = context.new_page()
    page.add_init_script(WATCH)
    visit(page, live)
    without_figures(page, live)
    live.stop()
    page.evaluate(BARE)
    page.evaluate("() => follow('fallowside')")
    found: dict[str, list[float]] = {}

    def note(name: str, mark: str) -> None:
        page.wait_for_function(f"() => {mark} > 0")
        found.setdefault(name, []).append(page.evaluate(f"() => {mark}"))

    for number in range(count):
        page.goto(f"{live.url}/#/station/{BIN}/record/self_harvest")
        page.get_by_role("textbox", name="How many").fill(str(60 + number))
        page.wait_for_timeout(50)
        page.get_by_role("button", name="Save", exact=True).click()
        note("a tap, on the disk", "marks.found")
        note("a tap, the page told", "marks.told")
        page.wait_for_timeout(100)
        entry = {"id": f"bare-{number}", "kind": "self_harvest", "station": BIN, "count": 60 + number}
        page.evaluate("entry => { marks.entry = entry; }", entry)
        page.get_by_role("button", name="Bare").click()
        note("bare put in a press", "marks.bare")
        page.wait_for_timeout(100)
        found.setdefault("bare put at rest", []).append(page.evaluate("() => put(marks.entry)"))
    context.close()
    half = {name: statistics.median(values) for name, values in found.items()}
    most = {name: sorted(values)[math.ceil(0.99 * len(values)) - 1] for name, values in found.items()}
    print(f"{count} of each, ms         median     p99   to rest: median     p99   to press: median     p99")
    for name in found:
        print(
            f"{name:<22} {half[name]:10.1f} {most[name]:7.1f}"
            f"   {half[name] / half['bare put at rest']:15.2f} {most[name] / most['bare put at rest']:7.2f}"
            f"   {half[name] / half['bare put in a press']:16.2f} "
            f"{most[name] / most['bare put in a press']:7.2f}"
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
    parser.add_argument("--taps", type=int, default=200)
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
    if not found:
        return
    ours, bare = (statistics.median(one) for one in zip(*found, strict=True))
    print(f"drain of {asked.entries:,}: {ours:.0f} ms   read and raw push {bare:.0f} ms")
    print(f"ratio {ours / bare:.2f}")


if __name__ == "__main__":
    main()
