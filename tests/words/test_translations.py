"""Every translation says what the English message says: same names in braces, no stale one."""

import re
from collections.abc import Iterator

import pytest

from fallowside import words
from fallowside.words import message, translations

PLURALS: dict[str, set[str]] = {
    "es": {"one", "many"},
    "pt": {"one", "many"},
    "fr": {"one", "many"},
    "de": {"one"},
    "ja": set(),
}
"""Forms beside `other` that a whole number can ask for: Unicode CLDR, "Language Plural Rules". `many` is for
whole millions, which no count here reaches: it may be given, and need not."""
FEW_WORDS = 3
"""So many English words in a row are no name that is the same everywhere."""
JAPANESE = "[\u3040-\u30ff\u3400-\u9fff]"


@pytest.fixture(params=translations.LANGUAGES)
def language(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_no_language_has_a_message_that_english_lacks(language: str) -> None:
    assert sorted(set(words.catalogue(language)) - set(words.catalogue())) == []


def test_every_english_message_is_translated(language: str) -> None:
    assert translations.missing(language) == []


def test_no_translation_is_older_than_the_english_it_was_made_from(language: str) -> None:
    assert translations.stale(language) == []


def test_a_translation_names_the_values_of_the_english_message(language: str) -> None:
    different = [
        key
        for key, text in words.catalogue(language).items()
        if key in words.catalogue() and shape(text) != shape(words.catalogue()[key])
    ]
    assert different == []


def test_a_plural_has_the_forms_of_its_language_and_no_other(language: str) -> None:
    odd = [
        key
        for key, text in words.catalogue(language).items()
        for part in parts(message.parts(text))
        if part.kind == "plural"
        for forms in [{form for form in part.options or {} if not form.startswith("=")}]
        if forms - PLURALS[language] != {"other"} or (PLURALS[language] - {"many"}) - forms - exact(part)
    ]
    assert odd == []


def test_nothing_is_left_in_english(language: str) -> None:
    left = [
        key
        for key, text in words.catalogue(language).items()
        if text == words.catalogue().get(key) and len(re.findall(r"[A-Za-z]{2,}", plain(text))) >= FEW_WORDS
    ]
    assert left == []


def test_japanese_has_no_gaps_between_its_words() -> None:
    gap = re.compile(f"{JAPANESE} +{JAPANESE}")
    assert [key for key, text in words.catalogue("ja").items() if gap.search(text)] == []


def test_a_changed_english_message_makes_its_translation_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    said = {"en": {"a": "Feed the bed.", "b": "Wait."}, "es": {"a": "Alimenta el lecho."}}
    monkeypatch.setattr(words, "catalogue", lambda language="en": said[language])
    monkeypatch.setattr(
        translations, "made_from", lambda language: {"a": translations.fingerprint("Feed the bed.")}
    )
    assert translations.stale("es") == []
    assert translations.missing("es") == ["b"]
    said["en"]["a"] = "Feed the bed once."
    assert translations.stale("es") == ["a"]


def parts(found: message.Parts) -> Iterator[message.Part]:
    """Give every value and choice of a message, those within choices too."""
    for one in found:
        if isinstance(one, message.Part):
            yield one
            for option in (one.options or {}).values():
                yield from parts(option)


def shape(text: str) -> set[tuple[str, ...]]:
    """Give what a message asks for: values by name, counts, and of choices what there is to choose."""
    asked: set[tuple[str, ...]] = set()
    for part in parts(message.parts(text)):
        if part.kind == "select":
            asked.add(("select", part.name, *sorted(part.options or {})))
        elif part.kind != "count":
            asked.add(("value", part.name))
    return asked


def exact(part: message.Part) -> set[str]:
    """An exact `=1` stands for the form `one`."""
    return {"one"} if "=1" in (part.options or {}) else set()


def plain(text: str) -> str:
    return "".join(one for one in message.parts(text) if isinstance(one, str))
