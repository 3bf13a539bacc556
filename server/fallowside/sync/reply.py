"""The answer to a sync call, put together from bytes: a stored body is never written anew."""

import json
from datetime import UTC, datetime
from functools import lru_cache

import msgspec

from fallowside.store.log import Line
from fallowside.sync.holding import Refused
from fallowside.sync.intake import Outcome
from fallowside.sync.shapes import HeldEntry

SHOWN_SKEW_US = 120_000_000
"""A device's clock that is off by more than this is told so. [microseconds]"""


@lru_cache(maxsize=1024)
def instant(us: int) -> str:
    """Write an instant as RFC 3339 in UTC, to the millisecond.

    >>> instant(1772343000123456)
    '2026-03-01T05:30:00.123Z'
    """
    return datetime.fromtimestamp(us // 1000 / 1000, UTC).isoformat(timespec="milliseconds")[:-6] + "Z"


def written(outcome: Outcome) -> bytes:
    """Write the reply as JSON."""
    head = {
        "cursor": outcome.cursor,
        "more": outcome.more,
        "log": outcome.log_name,
        "server_time": instant(outcome.now_us),
    }
    if skew_s := shown_skew_s(outcome.skew_us or 0):
        head["clock_skew_s"] = skew_s
    # `json`, for the words of a held entry may quote half a letter, which the faster one refuses.
    held = json.dumps([held_entry(one) for one in outcome.held]).encode() if outcome.held else b"[]"
    return b"".join(
        (
            b'{"accepted":',
            msgspec.json.encode(outcome.accepted),
            b',"held":',
            held,
            b',"entries":[',
            b",".join(handed_out(line) for line in outcome.lines),
            b"],",
            msgspec.json.encode(head)[1:],
        )
    )


def shown_skew_s(skew_us: int) -> int:
    """Give how far a device's clock is off, 0 where that is too little to tell. [s]"""
    return round(skew_us / 1e6) if abs(skew_us) > SHOWN_SKEW_US else 0


def held_entry(one: Refused) -> HeldEntry:
    """Describe a held entry as the reply does."""
    flaw = one.problem
    return {
        "id": one.id,
        "index": one.index,
        "ref": one.ref,
        "code": flaw.code,
        "why": flaw.message,
        "field": flaw.field,
        "values": dict(flaw.values),
    }


def handed_out(line: Line) -> bytes:
    """Write an entry with the fields the server adds."""
    return b'%b,"seq":%d,"received_at":"%b"}' % (line.body[:-1], line.seq, instant(line.received_us).encode())
