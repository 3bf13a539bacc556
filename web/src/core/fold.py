"""The fold as the phone's worker keeps it: entries come in as JSON text, the plan goes out as JSON text."""

import json
from pathlib import Path
from typing import Any

from fallowside.core.plan import Fold

_TRIAL: dict[str, Any] = json.loads(Path(__file__).with_name("trial.json").read_text(encoding="utf-8"))

_fold = Fold()
_taken: list[str] = []


def forget() -> None:
    """Begin again with an empty log."""
    global _fold
    _fold = Fold()
    _taken.clear()


def take(text: str) -> None:
    """Take entries in, given as the JSON of a list."""
    entries = json.loads(text)
    _taken.extend(str(raw.get("id")) for raw in entries)
    _fold.add(entries)


def taken() -> str:
    """Name the entries taken in, an id a line: a memory that was restored must say what it holds."""
    return "\n".join(_taken)


def plan(at: str) -> bytes:
    """Plan for an instant; the text is the one the service would write, in UTF-8."""
    return _fold.plan_json(at).encode()


def answer(name: str, text: str, at: str) -> str:
    """Answer a question about the log, given as JSON with its name; the answer is JSON too.

    `route`: where a bucket of these parts goes. `tally`: the tally of the days from one to another.
    """
    asked = json.loads(text)
    found = _fold.tally(asked["since"], asked["until"], at) if name == "tally" else _fold.route(asked, at)
    return json.dumps(found, ensure_ascii=False, allow_nan=False)


def trial() -> str:
    """Plan a small known log: what an interpreter must still be able to do after its memory was restored."""
    return Fold(_TRIAL["entries"]).plan_json(_TRIAL["at"])
