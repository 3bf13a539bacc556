"""Words for message keys: a plan holds keys and values, a catalogue turns them into a sentence.

Catalogues are the files `parts/<room>.<language>.json`, from key to message (see `message.py`). What a
language has no words for is said in English.
"""

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from functools import cache, partial
from pathlib import Path
from typing import Any, Final

from fallowside.words import manners, message

LANGUAGES: Final = tuple(manners.MANNERS)
"""English first."""
_ENGLISH: Final = LANGUAGES[0]
_PARTS = Path(__file__).with_name("parts")
_spoken: Final = ContextVar("spoken", default=_ENGLISH)


@cache
def catalogue(language: str = _ENGLISH) -> Mapping[str, str]:
    """Give all messages of a language by their key."""
    found: dict[str, str] = {}
    for part in sorted(_PARTS.glob(f"*.{language}.json")):
        found.update(json.loads(part.read_text(encoding="utf-8")))
    return found


def spoken() -> str:
    """Give the language that is spoken now."""
    return _spoken.get()


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language within a block.

    >>> with speaking("de"):
    ...     shown(0.5), shown("2026-03-09")
    ('0,5', '9. März 2026')
    """
    before = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(before)


def preferred(accepted: str) -> str:
    """Choose a language as an `Accept-Language` header asks (RFC 9110, 12.5.4); English if it asks for none.

    >>> preferred("nl, pt-BR;q=0.8, en;q=0.9, ja;q=0"), preferred("fr-CA,fr;q=0.9,en;q=0.8"), preferred("")
    ('en', 'fr', 'en')
    """
    weighed: list[tuple[float, str]] = []
    for one in accepted.split(","):
        tag, _, weight = one.partition(";")
        language = tag.strip().lower().split("-")[0]
        share = _weight(weight)
        if language in LANGUAGES and share > 0.0:
            weighed.append((share, language))
    # The first of equals stands first; `max` keeps it.
    return max(weighed, key=lambda pair: pair[0], default=(0.0, _ENGLISH))[1]


def _weight(text: str) -> float:
    _, _, weight = text.partition("=")
    try:
        return float(weight) if weight else 1.0
    except ValueError:
        return 0.0


def say(key: str, values: Mapping[str, Any] | None = None, language: str | None = None) -> str:
    """Say a message; a key nobody has words for is said as it is, with its values.

    >>> say("no.such_key", {"days": 3})
    'no.such_key (days 3)'
    """
    values = values or {}
    own = language or spoken()
    text = catalogue(own).get(key)
    if text is None:
        # What English says must count as English does.
        own, text = _ENGLISH, catalogue().get(key)
    if text is None:
        listed = ", ".join(f"{name} {shown(value)}" for name, value in values.items())
        return f"{key} ({listed})" if listed else key
    return message.written(
        text,
        values,
        partial(shown, language=own),
        partial(manners.count_form, language=own),
        partial(weighed, language=own),
    )


def shown(value: Any, language: str | None = None) -> str:
    """Write a value for people: numbers short, days with the name of their month.

    >>> shown(0.123456), shown(1234.5), shown("2026-03-09"), shown(None)
    ('0.12', '1,235', '9 Mar 2026', '?')
    """
    own = language or spoken()
    if value is None:
        return "?"
    if isinstance(value, bool):
        return say("app.yes" if value else "app.no", language=own)
    if isinstance(value, int | float):
        return manners.number(float(value), own)
    text = str(value)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return text
    return manners.full_day(day, own)


def weighed(kg: Any, language: str | None = None, of: float | None = None) -> str:
    """Write a mass, or an end of the span of one (`of`), with the unit its size asks for. [kg]

    >>> weighed(0.078), weighed(1.87), weighed(None)
    ('78 g', '1.87 kg', '? kg')
    """
    own = language or spoken()
    if isinstance(kg, bool) or not isinstance(kg, int | float):
        return f"{shown(kg, own)} kg"
    return " ".join(manners.weighed(float(kg), own, of))


def within(name: str) -> str:
    """Write a name as it stands within a sentence.

    >>> within("Cardboard")
    'cardboard'
    """
    return name if manners.MANNERS[spoken()].nouns_high else name.lower()
