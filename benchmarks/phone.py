"""Time the fold on the phone, in real Chromium with no server: a cold start to the first plan, and one more.

    python -m benchmarks.phone [--runs 3] [--slow 4]

The demo's log is on the phone. Each start is a new browser process on a kept profile: with the kept
memory of the interpreter, and with none (a plain start). `one more` is from the press on 'Save' until the
plan that knows the entry has come to the page, at the bin and at the bed in turns, three times
after each start.

A slow phone is imitated by stopping every process of the browser for all but one part in `--slow` of the
time, since the browser's own throttle doesn't reach a worker. That it does slow the worker is measured in
the same run, by a loop inside the worker, and printed: where that isn't near `--slow`, nothing below counts.
"""

import argparse
import json
import os
import shutil
import signal
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from threading import Event, Thread

from playwright.sync_api import BrowserContext, Page, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.folds import LISTEN, MEMORY
from tests.browser.server import LiveServer

RUN_S = 0.02
"""How long the browser runs between two stops."""
LONG_MS = 240_000
ENTRIES = 3
"""Of each kind, after each start: the first meets an interpreter that hasn't planned on yet."""
LOOP = """() => {
  const start = performance.now();
  let x = 0;
  for (let i = 0; i < 3e8; i++) x += i % 7;
  return performance.now() - start;
}"""
WATCH = (
    LISTEN
    + """
globalThis.marks = { task: 0 };
addEventListener("click", () => { marks.tap = performance.now(); marks.task = told.length = 0 }, true);
new PerformanceObserver(list => {
  for (const one of list.getEntries()) marks.task = Math.max(marks.task, one.duration);
}).observe({ type: "longtask", buffered: true });
const seen = new MutationObserver(() => {
  if (document.body.textContent.includes("g today")) marks.screen ??= performance.now();
});
seen.observe(document, { subtree: true, childList: true, characterData: true });
const W = Worker;
globalThis.Worker = class extends W {
  constructor(...words) {
    super(...words);
    this.addEventListener("message", ({ data }) => {
      if (data.type === "opened") marks.opened ??= performance.now();
      if (data.type === "planned") marks.planned = performance.now();
    });
  }
};
"""
)


@contextmanager
def slowed(root: int, factor: float) -> Iterator[None]:
    """Let a process and all below it run one part in `factor` of the time."""
    over = Event()

    def turns() -> None:
        below, owed_s, began = _family(root), 0.0, time.monotonic()
        while not over.is_set():
            time.sleep(RUN_S)
            _signal(below, signal.SIGSTOP)
            stopped = time.monotonic()
            # Who has come meanwhile stands still too.
            below = _family(root)
            _signal(below, signal.SIGSTOP)
            owed_s += (stopped - began) * (factor - 1.0)
            time.sleep(max(0.0, owed_s - (time.monotonic() - stopped)))
            began = time.monotonic()
            owed_s -= began - stopped
            _signal(below, signal.SIGCONT)

    thread = Thread(target=turns)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _family(root: int) -> list[int]:
    """Give the process ids of a process and all that come from it."""
    found = [root]
    for one in found:
        for children in Path(f"/proc/{one}/task").glob("*/children"):
            with suppress(OSError):
                found += [int(child) for child in children.read_text().split()]
    return found


def _signal(processes: list[int], what: signal.Signals) -> None:
    for process in processes:
        with suppress(ProcessLookupError):
            os.kill(process, what)


def _browser(profile: Path) -> int:
    """Give the process id of the browser that runs on a profile."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            words = (process / "cmdline").read_text(errors="replace")
            if f"--user-data-dir={profile}" in words and "--type=" not in words:
                return int(process.name)
    raise RuntimeError("the browser is not there")


class Bench:
    """A profile with the app and the demo's log on it, opened again and again."""

    def __init__(self, open_again: Callable[[], BrowserContext], profile: Path, url: str) -> None:
        self.open_again, self.profile, self.url = open_again, profile, url

    @contextmanager
    def opened(self, factor: float, *, memory: bool = True) -> Iterator[Page]:
        """Open a new browser and let it start the app as slowly as asked for."""
        context = self.open_again()
        page = context.new_page()
        if not memory:
            page.goto(f"{self.url}/icon.svg")
            page.evaluate("name => caches.delete(name)", MEMORY)
        page.add_init_script(WATCH)
        with slowed(_browser(self.profile), factor) if factor > 1 else nullcontext():
            page.goto(self.url)
            page.wait_for_function("() => marks.planned", timeout=LONG_MS)
            yield page
        context.close()

    def more(self, page: Page, path: str, fill: Callable[[Page], None]) -> tuple[float, float, float]:
        """Record one entry; give the time from press to plan, the worker's own, the longest task. [ms]"""
        page.goto(f"{self.url}/#/{path}")
        fill(page)
        page.get_by_role("button", name="Save", exact=True).click()
        page.wait_for_function("() => told.some(one => one.type === 'planned')", timeout=LONG_MS)
        return tuple(
            page.evaluate(
                "() => [marks.planned - marks.tap, told.find(one => one.type === 'planned').ms, marks.task]"
            )
        )


def main() -> None:
    """Run the benchmark and print its table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--slow", type=float, default=4.0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = LiveServer(Path(folder))
        server.run("demo", "--no-serve")
        server.start()
        profile = Path(folder) / "profile"
        chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))

        def open_again() -> BrowserContext:
            return driver.chromium.launch_persistent_context(
                profile, executable_path=chromium, args=FLAGS, viewport=SMALL_PHONE
            )

        bench = Bench(open_again, profile, server.url)
        with bench.opened(1.0) as page:
            page.wait_for_function("() => told.some(one => one.type === 'kept')", timeout=LONG_MS)
            said = page.evaluate("() => told.find(one => one.type === 'planned').text")
            stations = {one["type"]: one["id"] for one in reversed(json.loads(said)["stations"])}
            kept = page.evaluate("() => told.find(one => one.type === 'kept').bytes")
        server.stop()
        print(f"memory kept: {kept / 1e6:.1f} MB")
        _table(bench, stations, asked.runs, asked.slow)


def _table(bench: Bench, stations: dict[str, str], runs: int, slow: float) -> None:
    found: dict[tuple[str, float], list[float]] = {}

    def note(what: str, factor: float, value: float) -> None:
        found.setdefault((what, factor), []).append(value)

    for _ in range(runs):
        for factor in (1.0, slow):
            for memory in (True, False):
                start = "kept memory" if memory else "plain"
                with bench.opened(factor, memory=memory) as page:
                    marks = page.evaluate("() => marks")
                    note("screen with the last plan", factor, marks["screen"])
                    note(f"worker ready, {start}", factor, marks["opened"])
                    note(f"first plan, {start}", factor, marks["planned"])
                    if not memory:
                        # Let the memory be kept again before the next start.
                        page.wait_for_function("() => told.some(one => one.type === 'kept')", timeout=LONG_MS)
                        continue
                    note("loop in the worker", factor, page.workers[0].evaluate(LOOP))
                    for what, path, fill in _recordings(stations) * ENTRIES:
                        whole, own, task = bench.more(page, path, fill)
                        note(f"one more, {what}", factor, whole)
                        note(f"  of it the worker's plan, {what}", factor, own)
                        note(f"  longest task of the page, {what}", factor, task)
    medians = {key: statistics.median(values) for key, values in found.items()}
    print(f"medians of {runs}, ms{'at full speed':>40} {f'slowed {slow:g}x':>14} {'ratio':>7}")
    for what in dict.fromkeys(name for name, _ in found):
        fast, slowly = medians[what, 1.0], medians[what, slow]
        ratio = f"{slowly / fast:.1f}" if fast else ""
        print(f"{what:<46} {fast:>10.0f} {slowly:>14.0f} {ratio:>7}")
    for factor in (1.0, slow):
        plain = medians["first plan, plain", factor] / medians["first plan, kept memory", factor]
        print(f"plain start over kept memory at {factor:g}x: {plain:.1f}")


def _recordings(stations: dict[str, str]) -> list[tuple[str, str, Callable[[Page], None]]]:
    def count(page: Page) -> None:
        page.get_by_role("textbox", name="How many").fill("41")

    def temperature(page: Page) -> None:
        page.get_by_role("textbox", name="Temperature", exact=True).fill("19")

    return [
        ("a harvest at the bin", f"station/{stations['bin']}/record/self_harvest", count),
        ("a reading at the bed", f"station/{stations['bed']}/record/reading", temperature),
    ]


if __name__ == "__main__":
    main()
