"""Score the first visit by Lighthouse, as on a middling phone with a slow line (its own mobile throttling).

    python -m benchmarks.lighthouse [--runs 3] [--screen / --screen '/#/tally' ...] [--tool FOLDER] [--look]

Lighthouse (https://www.npmjs.com/package/lighthouse, Apache-2.0) is fetched by npm, at the version below,
into a temporary folder; `--tool` names one that holds it already. It opens the built app, served by the
real service with the demo place, with nothing stored. Printed are the median of each score, the times
behind it, and every check that isn't met. Its performance score reckons with the time tasks took here: on
a busy machine it says less than there is.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from tests.browser.conftest import FLAGS
from tests.browser.server import LiveServer

VERSION = "12.8.2"
LEAST = {"performance": 98, "accessibility": 100, "best-practices": 100}
TIMES = (
    "first-contentful-paint",
    "largest-contentful-paint",
    "speed-index",
    "total-blocking-time",
    "cumulative-layout-shift",
)
PATIENCE_S = 300.0

Report = dict[str, Any]


def fetch(folder: Path) -> None:
    """Put the tool into a folder, unless it is there."""
    if not (folder / "node_modules" / "lighthouse").is_dir():
        words = ["install", "--prefix", str(folder), "--ignore-scripts", "--no-audit", "--no-fund"]
        subprocess.run(["npm", *words, f"lighthouse@{VERSION}"], check=True, capture_output=True)


def report(tool: Path, address: str, chromium: str) -> Report:
    """Open an address as a phone that was never there, and give what the tool found."""
    done = subprocess.run(
        [
            "node",
            str(tool / "node_modules" / "lighthouse" / "cli" / "index.js"),
            address,
            "--quiet",
            "--output=json",
            f"--only-categories={','.join(LEAST)}",
            f"--chrome-flags=--headless {' '.join(FLAGS)}",
        ],
        env={**os.environ, "CHROME_PATH": chromium},
        capture_output=True,
        text=True,
        check=True,
        timeout=PATIENCE_S,
    )
    return json.loads(done.stdout)  # type: ignore[no-any-return]


def unmet(found: Report) -> list[str]:
    """Name the checks of a report that count and aren't wholly met."""
    counting = [
        (one["weight"], found["audits"][one["id"]])
        for category in found["categories"].values()
        for one in category["auditRefs"]
        if one["weight"] > 0
    ]
    return [
        f"{audit['id']} {audit['score']:.2f} {audit.get('displayValue', '')}"
        for _, audit in counting
        if audit["score"] is not None and audit["score"] < 1
    ]


def main() -> None:
    """Run the benchmark, print its tables, and fail where a score is too low."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--screen", action="append")
    parser.add_argument("--tool", type=Path)
    parser.add_argument("--look", action="store_true", help="only show the scores, never fail")
    asked = parser.parse_args()
    chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
    low: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        tool = asked.tool or Path(folder) / "tool"
        tool.mkdir(parents=True, exist_ok=True)
        fetch(tool)
        server = LiveServer(Path(folder))
        server.data.mkdir(parents=True)
        server.run("demo", "--no-serve")
        server.start()
        for screen in asked.screen or ["/"]:
            reports = [report(tool, server.url + screen, chromium) for _ in range(asked.runs)]
            print(f"{screen}, median of {asked.runs}")
            for name, least in LEAST.items():
                scores = [one["categories"][name]["score"] * 100 for one in reports]
                print(f"  {name:<28}{statistics.median(scores):>6.0f}   at least {least}")
                low += [f"{name} of {screen}"] if statistics.median(scores) < least else []
            for name in TIMES:
                values = [one["audits"][name]["numericValue"] for one in reports]
                print(f"  {name:<28}{statistics.median(values):>9.{3 if 'shift' in name else 0}f}")
            for line in unmet(reports[-1]):
                print(f"  not wholly met: {line}")
        server.stop()
    if low and not asked.look:
        raise SystemExit(f"too low: {', '.join(low)}")


if __name__ == "__main__":
    main()
