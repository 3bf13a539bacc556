"""Numbers, days and the forms of counts are those of the Unicode CLDR, as Node's Intl has them."""

import json
import shutil
import subprocess
from datetime import date
from typing import Any

import pytest

from fallowside import words
from fallowside.words import manners

COUNTS = [0, 0.5, 1, 1.5, 2, 11, 21, 100, 1_000_000, 1_000_001, 2_000_000]
NUMBERS = [0.5, 12.5, 999.0, 1234.0, 12345.0, 1_234_567.0, -1234.0, 0.0, 7.0, 20.0, 99.95, 0.996]
HALVES = [0.125, 1.125, 2.375, 12.25, 12.75, 112.5, 113.5, 1234.5, -0.125, -12.25, 2.675, 0.0625]
"""Numbers that lie just between two, as they are written: what a computer holds of 2.675 is a hair less."""
DAYS = [date(2026, month, 9) for month in range(1, 13)]
ASKED = """
const [locale, counts, numbers, days] = JSON.parse(process.argv[1]);
const dated = options => days.map(day =>
  new Intl.DateTimeFormat(locale, { timeZone: "UTC", ...options }).format(new Date(day)));
const short = { day: "numeric", month: "short" };
console.log(JSON.stringify({
  forms: counts.map(n => new Intl.PluralRules(locale).select(n)),
  numbers: numbers.map(n => {
    // As web/src/words/written.ts has it.
    const size = Math.abs(n), digits = size >= 100 ? 0 : size >= 10 ? 1 : 2;
    const options = size < 1 ? { maximumSignificantDigits: digits } : { maximumFractionDigits: digits };
    return new Intl.NumberFormat(locale, options).format(n);
  }),
  days: dated(short),
  full: dated({ ...short, year: "numeric" }),
}));
"""
LOCALES = {"en": "en-GB"}
"""English is written as in Britain, where the day comes first."""


def intl(language: str) -> dict[str, Any]:
    node = shutil.which("node")
    assert node, "no Node on the path: the web app needs it too"
    locale = LOCALES.get(language, language)
    asked = json.dumps([locale, COUNTS, [*NUMBERS, *HALVES], [day.isoformat() for day in DAYS]])
    done = subprocess.run([node, "-e", ASKED, asked], capture_output=True, text=True, check=True)
    # English months are those of three letters here, September's too.
    found: dict[str, Any] = json.loads(
        done.stdout.replace("Sept", "Sep") if language == "en" else done.stdout
    )
    return found


@pytest.mark.parametrize("language", words.LANGUAGES)
def test_a_language_writes_as_the_cldr_says(language: str) -> None:
    assert {
        "forms": [manners.count_form(one, language) for one in COUNTS],
        "numbers": [manners.number(one, language) for one in [*NUMBERS, *HALVES]],
        "days": [manners.day_of_year(one, language) for one in DAYS],
        "full": [manners.full_day(one, language) for one in DAYS],
    } == intl(language)


def test_a_message_is_said_in_the_language_spoken_and_counted_as_it_counts() -> None:
    with words.speaking("fr"):
        assert words.say("terminal.made_from", {"entries": 0}) == "Établi à partir de 0 entrée."
    with words.speaking("ja"):
        assert words.say("terminal.made_from", {"entries": 1}) == "1件の記録から作成。"
    assert words.say("terminal.made_from", {"entries": 1}) == "Made from 1 entry."


def test_what_a_language_has_no_words_for_is_said_and_counted_in_english(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    said = {"en": {"a": "{n, plural, one {# egg} other {# eggs}}"}, "fr": {}}
    monkeypatch.setattr(words, "catalogue", lambda language="en": said[language])
    assert words.say("a", {"n": 0}, "fr") == "0 eggs"


@pytest.mark.parametrize(
    ("value", "low", "high", "told"),
    [
        (5822.0, 3900.0, 8100.0, 6000.0),
        (1.87, 1.53, 2.18, 1.9),
        (0.066, 0.03, 0.12, 0.07),
        (29.4, 26.3, 32.5, 29.0),
        (0.004, 0.004, 0.4, 0.0),
        (0.04, 0.0, 0.4, 0.04),
        (0.031, 0.0, 0.4, 0.03),
        (5822.0, 5822.0, 5822.0, 5822.0),
    ],
)
def test_what_was_reckoned_is_rounded_as_on_the_phone(
    value: float, low: float, high: float, told: float
) -> None:
    """The same figures as in `web/src/log/rounded.test.ts`."""
    assert manners.rounded(value, low, high) == told
