"""Instants: times as people and phones write them, read as microseconds and a local day."""

import re
from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

DAY_US = 86_400_000_000
_CLOCK = r"([01]\d|2[0-3]):[0-5]\d"
"""Said here, since what Python reads of `24:00` and of `+02:60` differs between its versions."""
_TIME = re.compile(rf"\d{{4}}-\d\d-\d\dT{_CLOCK}(:[0-5]\d(\.\d{{1,6}})?)?(Z|[+-]{_CLOCK})")
_YEARS = (2000, 2100)
_TO_THE_SECOND = len("2026-03-01T07:30:00+02:00")
_MINUTES = {f"T{n // 60:02}:{n % 60:02}": n * 60_000_000 for n in range(24 * 60)}
"""Every hour and minute. [microseconds since local midnight]"""
_SECONDS = {f":{n:02}": n * 1_000_000 for n in range(60)}
"""Every second. [microseconds]"""
_MOST_DAYS = 100_000
_DATE_AND_OFFSET = len("2026-03-01+02:00")


class _Midnights(dict[str, tuple[int, int]]):
    """Local midnights, by date and offset: the instant [microseconds] and the local day; kept once met."""

    def __missing__(self, key: str) -> tuple[int, int]:
        if len(key) != _DATE_AND_OFFSET:
            raise KeyError(key)
        found = _read(f"{key[:10]}T00:00:00{key[10:]}")
        if len(self) < _MOST_DAYS:
            self[key] = found
        return found


_MIDNIGHTS = _Midnights()


class Moment(NamedTuple):
    """An instant with the local day it fell on.

    Attributes:
        us: Microseconds since 1970-01-01T00:00Z.
        day: Local civil day as a proleptic ordinal (1 is 0001-01-01).
        text: As written, RFC 3339 with offset.
    """

    us: int
    day: int
    text: str


def moment(text: str) -> Moment:
    """Read an RFC 3339 time with offset.

    Raises:
        ValueError: not such a time, or a year outside 2000 to 2100.

    >>> moment("2026-03-01T07:30:00+02:00").us
    1772343000000000
    """
    return Moment(*instant(text), text)


def instant(text: str) -> tuple[int, int]:
    """Read a time as instant [microseconds] and local day [ordinal]; raises as `moment` does."""
    if text.__class__ is str and len(text) == _TO_THE_SECOND:
        minute_us, second_us = _MINUTES.get(text[10:16]), _SECONDS.get(text[16:19])
        if minute_us is not None and second_us is not None:
            try:
                midnight_us, day = _MIDNIGHTS[text[:10] + text[19:]]
            except ValueError:
                # That names a midnight nobody wrote.
                return _read(text)
            return midnight_us + minute_us + second_us, day
    return _read(text)


def instants(texts: Sequence[str]) -> tuple[Sequence[int], Sequence[int]]:
    """Read many times as instants [microseconds] and local days [ordinals]; raises as `moment` does."""
    try:
        # Most are to the second, and of days met before: then no part of them needs reading.
        midnights = [_MIDNIGHTS[text[:10] + text[19:]] for text in texts]
        return [
            midnight_us + _MINUTES[text[10:16]] + _SECONDS[text[16:19]]
            for (midnight_us, _), text in zip(midnights, texts, strict=True)
        ], [day for _, day in midnights]
    except (KeyError, ValueError):
        read = list(map(instant, texts))
        return [us for us, _ in read], [day for _, day in read]


def latest(texts: Sequence[str]) -> int:
    """Give the latest of some times [microseconds]; raises as `moment` does, also where there is none.

    >>> latest(["2026-03-01T07:30:00+02:00", "2026-03-01T06:00:00Z"])
    1772344800000000
    """
    return max(instants(texts)[0])


def _read(text: str) -> tuple[int, int]:
    if not isinstance(text, str) or _TIME.fullmatch(text) is None:
        raise ValueError(f"{text!r} is not a time such as 2026-03-01T07:30:00+02:00")
    read = datetime.fromisoformat(text)
    if not _YEARS[0] <= read.year <= _YEARS[1]:
        raise ValueError(f"the year {read.year} is not between {_YEARS[0]} and {_YEARS[1]}")
    return round(read.timestamp() * 1e6), read.toordinal()
