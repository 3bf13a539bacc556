"""Words for message keys: a plan holds keys and values, a catalogue turns them into a sentence.

Catalogues are the files `parts/<room>.<language>.json`, from key to message (see `message.py`).
"""

import json
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from fallowside.words import message

_PARTS = Path(__file__).with_name("parts")
_DIGITS = 3
_PLAIN_FROM = 100.0


@cache
def catalogue(language: str = "en") -> Mapping[str, str]:
    """Give all messages of a language by their key."""
    found: dict[str, str] = {}
    for part in sorted(_PARTS.glob(f"*.{language}.json")):
        found.update(json.loads(part.read_text(encoding="utf-8")))
    return found


def say(key: str, values: Mapping[str, Any] | None = None, language: str = "en") -> str:
    """Say a message; a key nobody has words for is said as it is, with its values.

    >>> say("no.such_key", {"days": 3})
    'no.such_key (days 3)'
    """
    values = values or {}
    text = catalogue(language).get(key)
    if text is None:
        listed = ", ".join(f"{name} {shown(value)}" for name, value in values.items())
        return f"{key} ({listed})" if listed else key
    return message.written(text, values, shown)


def shown(value: Any) -> str:
    """Write a value for people: numbers short, days with the name of their month.

    >>> shown(0.123456), shown(1234.5), shown("2026-03-09"), shown(None)
    ('0.123', '1,234', '9 Mar 2026', '?')
    """
    if value is None:
        return "?"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(float(value))
    text = str(value)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return text
    return f"{day.day} {day:%b %Y}"


def _number(value: float) -> str:
    if abs(value) >= _PLAIN_FROM:
        return f"{value:,.0f}"
    short = f"{value:.{_DIGITS}g}"
    return "0" if float(short) == 0.0 else short
