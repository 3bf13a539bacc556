"""What a translation stands on: whether it is there, and made from the English that is said now.

Beside the catalogues, `made_from/<language>.json` holds for each key the fingerprint of the English
message its translation was made from. A changed English message so makes its translations stale until
somebody has looked at them again.

    python -m fallowside.words.translations             says what is missing and what is stale
    python -m fallowside.words.translations es KEY…     says that these were looked at, in that language
"""

import hashlib
import json
import sys
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Final

from fallowside import words

LANGUAGES: Final = words.LANGUAGES[1:]
"""All but English, which the others are made from."""
_MADE_FROM = Path(__file__).with_name("made_from")
_DIGITS = 8


def fingerprint(text: str) -> str:
    """Give the fingerprint of an English message.

    >>> fingerprint("Save")
    '1509f561'
    """
    return hashlib.sha256(text.encode()).hexdigest()[:_DIGITS]


@cache
def made_from(language: str) -> Mapping[str, str]:
    """Give by key the fingerprint of the English a translation was made from."""
    file = _file(language)
    found: dict[str, str] = json.loads(file.read_text(encoding="utf-8")) if file.exists() else {}
    return found


def missing(language: str) -> list[str]:
    """Name the English messages that have no translation."""
    return [key for key in words.catalogue() if key not in words.catalogue(language)]


def stale(language: str) -> list[str]:
    """Name the translations made from another English message than there is now, or from none."""
    english = words.catalogue()
    return [
        key
        for key in words.catalogue(language)
        if key not in english or made_from(language).get(key) != fingerprint(english[key])
    ]


def look_at(language: str, keys: Iterable[str]) -> None:
    """Note that the translations of these keys fit the English there is now; forget those that are gone."""
    english, translated = words.catalogue(), words.catalogue(language)
    known = {key: mark for key, mark in made_from(language).items() if key in english and key in translated}
    fresh = {key: fingerprint(english[key]) for key in keys if key in english and key in translated}
    content = json.dumps(known | fresh, indent=1, sort_keys=True)
    _file(language).write_text(content + "\n", encoding="utf-8")
    made_from.cache_clear()


def _file(language: str) -> Path:
    return _MADE_FROM / f"{language}.json"


def _told() -> str:
    return "\n".join(
        f"{language}  {state}: {key}"
        for language in LANGUAGES
        for state, keys in (("missing", missing(language)), ("stale", stale(language)))
        for key in keys
    )


if __name__ == "__main__":
    if sys.argv[1:]:
        look_at(sys.argv[1], sys.argv[2:])
    print(_told())
