"""How each language writes numbers and days, and which form a count takes; after the Unicode CLDR."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from math import floor, log10
from typing import Any, Final

_PLAIN_FROM, _ONE_PLACE_FROM, _TWO_PLACES_FROM = 100.0, 10.0, 1.0
_SMALL_DIGITS = 2
"""Digits of a number below 1 that say something."""
_MILLION = 1_000_000
_IN_GRAMS_BELOW_KG = 0.995
"""Below this, kilograms begin with a nought and a person at a scale says grams; this rounds to 1,000. [kg]"""
_NO_BREAK = "\u202f"
"""A narrow space at which no line breaks: it parts thousands in French."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a language writes.

    Attributes:
        decimal, thousands: The signs in a number.
        grouped_from: Smaller numbers have no sign for thousands.
        months: Short names, January first.
        day, full_day, month: Patterns of `{day}`, `{name}` of the month, and `{year}`.
        one: Whether a count takes the form `one`.
        many: Whether whole millions take a form of their own, `many`.
        nouns_high: Whether nouns keep their capital within a sentence.
    """

    decimal: str
    thousands: str
    months: tuple[str, ...]
    day: str
    full_day: str
    month: str
    one: Callable[[float], bool]
    grouped_from: float = 1000.0
    many: bool = False
    nouns_high: bool = False


def _exactly_one(count: float) -> bool:
    return count == 1


def _below_two(count: float) -> bool:
    return 0 <= count < 2


def _never(count: float) -> bool:
    return False


_ENGLISH: Final = Manner(
    decimal=".",
    thousands=",",
    months=("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    day="{day} {name}",
    full_day="{day} {name} {year}",
    month="{name} {year}",
    one=_exactly_one,
)
_SPANISH: Final = Manner(
    decimal=",",
    thousands=".",
    months=("ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sept", "oct", "nov", "dic"),
    day="{day} {name}",
    full_day="{day} {name} {year}",
    month="{name} {year}",
    one=_exactly_one,
    grouped_from=10_000.0,
    many=True,
)
_PORTUGUESE: Final = Manner(
    decimal=",",
    thousands=".",
    months=(
        "jan.",
        "fev.",
        "mar.",
        "abr.",
        "mai.",
        "jun.",
        "jul.",
        "ago.",
        "set.",
        "out.",
        "nov.",
        "dez.",
    ),
    day="{day} de {name}",
    full_day="{day} de {name} de {year}",
    month="{name} de {year}",
    one=_below_two,
    many=True,
)
_FRENCH: Final = Manner(
    decimal=",",
    thousands=_NO_BREAK,
    months=(
        "janv.",
        "févr.",
        "mars",
        "avr.",
        "mai",
        "juin",
        "juil.",
        "août",
        "sept.",
        "oct.",
        "nov.",
        "déc.",
    ),
    day="{day} {name}",
    full_day="{day} {name} {year}",
    month="{name} {year}",
    one=_below_two,
    many=True,
)
_GERMAN: Final = Manner(
    decimal=",",
    thousands=".",
    months=(
        "Jan.",
        "Feb.",
        "März",
        "Apr.",
        "Mai",
        "Juni",
        "Juli",
        "Aug.",
        "Sept.",
        "Okt.",
        "Nov.",
        "Dez.",
    ),
    day="{day}. {name}",
    full_day="{day}. {name} {year}",
    month="{name} {year}",
    one=_exactly_one,
    nouns_high=True,
)
_JAPANESE: Final = Manner(
    decimal=".",
    thousands=",",
    months=tuple(f"{month}月" for month in range(1, 13)),
    day="{name}{day}日",
    full_day="{year}年{name}{day}日",
    month="{year}年{name}",
    one=_never,
)
MANNERS: Final[Mapping[str, Manner]] = {
    "en": _ENGLISH,
    "es": _SPANISH,
    "pt": _PORTUGUESE,
    "fr": _FRENCH,
    "de": _GERMAN,
    "ja": _JAPANESE,
}


def number(value: float, language: str) -> str:
    r"""Write a number with as many digits as somebody reads, as the phone writes it; halves go up.

    >>> number(0.123456, "de"), number(1234.5, "fr"), number(1234.5, "es"), number(-12345.0, "ja")
    ('0,12', '1\u202f235', '1235', '-12,345')
    """
    manner, size, exact = MANNERS[language], abs(value), Decimal(repr(float(value)))
    if size >= _PLAIN_FROM:
        places = 0
    elif size >= _TWO_PLACES_FROM:
        places = 1 if size >= _ONE_PLACE_FROM else 2
    else:
        places = _SMALL_DIGITS - 1 - exact.adjusted() if value else 0
    rounded = round_half_up(exact, places)
    plain = f"{rounded:,f}" if abs(rounded) >= manner.grouped_from else f"{rounded:f}"
    whole, _, part = plain.partition(".")
    part = part.rstrip("0")
    shown = whole.replace(",", manner.thousands) + (manner.decimal + part if part else "")
    return "0" if shown == "-0" else shown


def weighed(kg: float, language: str, of: float | None = None) -> tuple[str, str]:
    """Write a mass and its unit: less than a kilogram in grams, to two digits, as the phone writes it.

    Args:
        kg: The mass, or an end of its span. [kg]
        language: One of `MANNERS`.
        of: The mass itself, where `kg` is an end of its span. [kg]

    >>> weighed(0.066, "en"), weighed(1.121, "en", of=0.678), weighed(1.12, "de"), weighed(0.0042, "en")
    (('66', 'g'), ('1,100', 'g'), ('1,12', 'kg'), ('4.2', 'g'))
    """
    if not 0.0 < abs(kg if of is None else of) < _IN_GRAMS_BELOW_KG:
        return number(kg, language), "kg"
    exact = Decimal(repr(1000.0 * kg))
    return number(
        float(round_half_up(exact, _SMALL_DIGITS - 1 - exact.adjusted())) if kg else 0.0, language
    ), "g"


def rounded(value: float, low: float, high: float) -> float:
    """Give a figure, or an end of its 80 % range, to the digits that range leaves a meaning to.

    The last digit told is that of the power of ten that goes into the range three times or more, so that
    nothing moves by more than a sixth of the range (after JCGM 100:2008, 7.2.6), as on the phone. What is
    more than nought is told as nought only where it is an end.

    >>> rounded(5822.0, 3900.0, 8100.0), rounded(1.87, 1.53, 2.18), rounded(0.27, 0.17, 0.52)
    (6000.0, 1.9, 0.3)
    """
    if not high > low:
        return value
    places = -floor(log10((high - low) / 3.0))
    found = float(round_half_up(Decimal(repr(value)), places))
    if found != 0.0 or value in (low, high):
        return found
    exact = Decimal(repr(value))
    return float(round_half_up(exact, -exact.adjusted())) if value else 0.0


def round_half_up(exact: Decimal, places: int) -> Decimal:
    """Round to places behind the decimal sign; a half goes away from nought, as people round."""
    return exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def full_day(day: date, language: str) -> str:
    """Write a day with its year.

    >>> full_day(date(2026, 3, 9), "de"), full_day(date(2026, 3, 9), "ja")
    ('9. März 2026', '2026年3月9日')
    """
    return _dated(day, language, MANNERS[language].full_day)


def day_of_year(day: date, language: str) -> str:
    """Write a day without its year.

    >>> day_of_year(date(2026, 3, 9), "en"), day_of_year(date(2026, 3, 9), "pt")
    ('9 Mar', '9 de mar.')
    """
    return _dated(day, language, MANNERS[language].day)


def month(day: date, language: str) -> str:
    """Write the month in which a day lies.

    >>> month(date(2026, 3, 9), "en"), month(date(2026, 3, 9), "ja")
    ('Mar 2026', '2026年3月')
    """
    return _dated(day, language, MANNERS[language].month)


def _dated(day: date, language: str, pattern: str) -> str:
    name = MANNERS[language].months[day.month - 1]
    return pattern.format(day=day.day, name=name, year=day.year)


def count_form(count: Any, language: str) -> str:
    """Give the form a count asks for: `one`, `many` or `other`.

    >>> [count_form(0, language) for language in ("en", "fr", "ja")]
    ['other', 'one', 'other']
    """
    if isinstance(count, bool) or not isinstance(count, int | float):
        return "other"
    manner = MANNERS[language]
    if manner.one(count):
        return "one"
    return "many" if manner.many and count and count % _MILLION == 0 else "other"
