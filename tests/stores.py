"""Stores for tests: a fresh database, calls to it, and the demo's place beside real entries."""

import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from fallowside.core.entries import moment
from fallowside.store import database, log
from fallowside.store.database import Database
from fallowside.sync import call
from fallowside.sync.intake import Intake, Outcome
from tests.logs import AT, Raw, entry, kg

NOW_US = moment(AT).us
"""The server's clock in these tests."""
MINUTE_US = 60_000_000


def fresh(folder: Path) -> Database:
    """Open a database of its own in a folder."""
    return database.at_folder(folder)


def body(entries: Iterable[Any], device: str = "phone", cursor: int = 0, **fields: Any) -> bytes:
    """Write a call as a phone does; NaN and half a letter are written as Python writes them."""
    return json.dumps({"device": device, "cursor": cursor, "entries": list(entries), **fields}).encode()


def send(
    intake: Intake,
    entries: Iterable[Any] = (),
    device: str = "phone",
    cursor: int = 0,
    now_us: int = NOW_US,
    **fields: Any,
) -> Outcome:
    """Send a call and give what became of it."""
    return intake.take(call.read(body(entries, device, cursor, **fields)), now_us)


def feed(number: int, **fields: Any) -> Raw:
    """Make a good feed entry."""
    made = entry("feed", number, station="bed", side="a", feedstock="bread", amount=kg(1))
    return {**made, "id": f"feed-{number}", **fields}


def ids(lines: Sequence[log.Line]) -> list[str]:
    return [line.id for line in lines]


def logged(opened: Database) -> list[Mapping[str, Any]]:
    """Give the whole log, parsed."""
    return list(log.entries(opened))


def codes(outcome: Outcome) -> list[tuple[str | None, str, str]]:
    """Give id, code and field of what was held."""
    return [(one.id, one.problem.code, one.problem.field) for one in outcome.held]
