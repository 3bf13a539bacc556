"""Measure the forecasts of bed and bin at invented places, and write the page that says how good they are.

Run from the project's top:

    python -m tests.simulators.forecasts [--beds 200] [--bins 60] [--kept kept.jsonl]

writes docs/forecasts.md. What was measured is kept in a file by place, so that a run that was stopped
goes on where it was; with changed models, give it another file.
"""

import argparse
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

from tests.simulators import bed_calibration, bin_forecasts, forecasts_page
from tests.simulators.bed_calibration import Forecast
from tests.simulators.bin_forecasts import Scored

PAGE = Path(__file__).parents[2] / "docs" / "forecasts.md"
FIRST_BED, FIRST_BIN = 0, 3000
BED_DAYS = 960


class Kept:
    """Rows by place, in a file that only grows; without a file they live as long as the run."""

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._rows: dict[str, list[dict[str, Any]]] = {}
        if path is not None and path.exists():
            for line in path.read_text(encoding="utf-8").splitlines():
                name, rows = json.loads(line)
                self._rows[name] = rows

    def rows(self, name: str, make: Callable[[], Iterable[Any]]) -> list[dict[str, Any]]:
        """Give a place's rows, measured now if they aren't there."""
        if name not in self._rows:
            self._rows[name] = [asdict(one) for one in make()]
            if self._path is not None:
                with self._path.open("a", encoding="utf-8") as file:
                    file.write(json.dumps([name, self._rows[name]]) + "\n")
        return self._rows[name]


def beds(number: int, kept: Kept) -> list[Forecast]:
    """Measure at so many beds."""
    made: list[Forecast] = []
    for seed in range(FIRST_BED, FIRST_BED + number):
        rows = kept.rows(f"bed {seed}", partial(bed_calibration.forecasts, seed, BED_DAYS))
        made += [Forecast(**row) for row in rows]
    return made


def bins(number: int, kept: Kept) -> list[Scored]:
    """Measure at so many bins."""
    made: list[Scored] = []
    for site in range(FIRST_BIN, FIRST_BIN + number):
        rows = kept.rows(f"bin {site}", partial(bin_forecasts.forecasts, site))
        made += [one for one in (Scored(**row) for row in rows) if one.active]
    return made


def main(words: Sequence[str] | None = None) -> None:
    """Measure and write the page."""
    chosen = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    chosen.add_argument("--beds", type=int, default=200)
    chosen.add_argument("--bins", type=int, default=60)
    chosen.add_argument("--kept", type=Path)
    options = chosen.parse_args(words)
    kept = Kept(options.kept)
    PAGE.write_text(
        forecasts_page.written(beds(options.beds, kept), bins(options.bins, kept)), encoding="utf-8"
    )


if __name__ == "__main__":
    main()
