"""A sync call, read straight from the bytes: the envelope checked, each entry kept as it was sent.

BadCall
├── not JSON, or JSON nested beyond sense        status 400
└── an envelope that breaks its description      status 422
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Annotated, Any

import msgspec

from fallowside.core.entries import Problem
from fallowside.core.errors import FallowsideError
from fallowside.sync import slices

MOST_ENTRIES = 1000
"""Entries of one call."""
NAME = r"^[0-9A-Za-z][0-9A-Za-z_.:-]{0,63}$"
"""What a device may call itself."""
_FIELD = re.compile(r"\$\.(\w+)")
_BRACE = ord("}")

_BROKEN = Problem("not_json", "", "this is not JSON; mend it, one JSON object for an entry")
_NOT_STRICT = Problem(
    "not_json", "", "this entry holds something JSON has no word for, such as NaN or half a letter; mend it"
)


class BadCall(FallowsideError):
    """The call as a whole can't be read; nothing of it was saved."""

    def __init__(self, status: int, code: str, message: str, field: str = "") -> None:
        super().__init__(message)
        self.status, self.code, self.field = status, code, field


@dataclass(frozen=True)
class Call:
    """What a device sent.

    Attributes:
        device: Its name for itself.
        cursor: It has seen everything up to this `seq`.
        bodies: Each entry, byte for byte.
        sent_us: The device's clock when it sent. [microseconds]
        log: The log its cursor belongs to, if it says so.
    """

    device: str
    cursor: int
    bodies: Sequence[bytes]
    sent_us: int | None = None
    log: str | None = None

    @property
    def docs(self) -> Sequence[Any]:
        """The entries, parsed; None where that failed altogether."""
        return self._parsed[0]

    @property
    def flaws(self) -> Mapping[int, Problem]:
        """By index, why an entry is not strict JSON."""
        return self._parsed[1]

    @cached_property
    def _parsed(self) -> tuple[list[Any], dict[int, Problem]]:
        # Only when asked for: of most calls a first look at the bytes is enough.
        return parsed(self.bodies)


class _Envelope(msgspec.Struct):
    device: Annotated[str, msgspec.Meta(pattern=NAME)]
    cursor: Annotated[int, msgspec.Meta(ge=0, le=2**53)] = 0
    entries: Annotated[list[msgspec.Raw], msgspec.Meta(max_length=MOST_ENTRIES)] = []
    sent_at: str | None = None
    log: str | None = None


_read_envelope = msgspec.json.Decoder(_Envelope).decode
_read_raw = msgspec.json.Decoder(msgspec.Raw).decode
_read_any = msgspec.json.Decoder().decode


def read(body: bytes) -> Call:
    """Read a call.

    Raises:
        BadCall: it is not JSON, or its envelope is wrong.
    """
    try:
        envelope = _read_envelope(body)
    except msgspec.ValidationError as error:
        if _is_json(body):
            raise _bad_envelope(error) from error
        return _read_tolerantly(body)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return _read_tolerantly(body)
    bodies = map(bytes, envelope.entries)
    return _call(envelope, [body if body[-1] == _BRACE else body.rstrip() for body in bodies])


def parsed(bodies: Sequence[bytes]) -> tuple[list[Any], dict[int, Problem]]:
    """Parse entries one by one; say which are not strict JSON, and read of them what can be read."""
    docs: list[Any] = []
    flaws: dict[int, Problem] = {}
    for index, body in enumerate(bodies):
        try:
            docs.append(_read_any(body))
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            docs.append(slices.tolerant(body))
            flaws[index] = _BROKEN if docs[-1] is None else _NOT_STRICT
    return docs, flaws


def _read_tolerantly(body: bytes) -> Call:
    """Read a call in which some entry is not strict JSON, so that only that entry suffers."""
    try:
        outside, bodies = slices.split(body, MOST_ENTRIES)
        if len(bodies) > MOST_ENTRIES:
            raise _too_many()
        envelope = _read_envelope(outside)
    except msgspec.ValidationError as error:
        raise _bad_envelope(error) from error
    except (ValueError, RecursionError) as error:
        raise BadCall(400, "broken_json", f"the call is not JSON: {error}; send it again") from error
    return _call(envelope, bodies)


def _call(envelope: _Envelope, bodies: list[bytes]) -> Call:
    return Call(envelope.device, envelope.cursor, bodies, _sent_us(envelope.sent_at), envelope.log)


def _is_json(body: bytes) -> bool:
    try:
        _read_raw(body)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return False
    return True


def _sent_us(text: str | None) -> int | None:
    """Read `sent_at`; a clock set to another century is no reason to refuse a call."""
    if text is None:
        return None
    try:
        sent = datetime.fromisoformat(text)
        return round(sent.replace(tzinfo=sent.tzinfo or UTC).timestamp() * 1e6)
    except (ValueError, OverflowError) as error:
        raise BadCall(
            422, "bad_time", f"`sent_at` is not a time such as 2026-03-01T07:30:00Z: {text[:40]!r}", "sent_at"
        ) from error


def _too_many() -> BadCall:
    return BadCall(
        422, "too_many", f"a call holds at most {MOST_ENTRIES} entries; send the rest in the next", "entries"
    )


def _bad_envelope(error: msgspec.ValidationError) -> BadCall:
    found = _FIELD.search(str(error))
    where = found[1] if found else ""
    if where == "entries" and "length" in str(error):
        return _too_many()
    said = str(error).split(" - at")[0]
    if "required field" in said:
        where = said.rsplit("`", 2)[1]
    subject = f"`{where}` of the call" if where else "the call"
    return BadCall(422, "bad_envelope", f"{subject} is wrong: {said[0].lower()}{said[1:]}", where)
