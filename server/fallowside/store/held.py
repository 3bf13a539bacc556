"""Entries held: set aside because they can't be used as they are, kept until they can, or for good."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fallowside.store.database import Hand

WAITING, ACCEPTED, MENDED, DROPPED = "waiting", "accepted", "mended", "dropped"


@dataclass(frozen=True, slots=True)
class Held:
    """One held entry. `n` is its number in the store; `id` is None if it has no usable one.

    `rights` says as JSON what its sender might do when it came; None for everything.
    """

    n: int
    id: str | None
    device_n: int
    code: str
    field: str
    why: str
    values: Mapping[str, Any]
    received_us: int
    skew_ms: int | None
    ripe_us: int | None
    state: str
    body: bytes
    rights: str | None

    @property
    def ref(self) -> str:
        """What names it: its id, or `~` and its number."""
        return self.id or f"~{self.n}"


_COLUMNS = (
    "n, held.id, device_n, code, field, why, figures, received_us, skew_ms, ripe_us, state, body, rights"
)


def put(hand: Hand, place_n: int, held: Held, crc: int) -> int:
    """Set one entry aside, waiting, and give its number."""
    found: int = hand.value(
        "INSERT INTO held (place_n, id, device_n, code, field, why, figures, received_us, skew_ms, ripe_us, "
        "state, crc, body, rights) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING n",
        place_n,
        held.id,
        held.device_n,
        held.code,
        held.field,
        held.why,
        json.dumps(dict(held.values), allow_nan=False),
        held.received_us,
        held.skew_ms,
        held.ripe_us,
        held.state,
        crc,
        held.body,
        held.rights,
    )
    return found


def any_waiting(hand: Hand, place_n: int) -> bool:
    """Tell whether anything waits at a place."""
    found = hand.value(f"SELECT 1 FROM held WHERE place_n = ? AND state = '{WAITING}' LIMIT 1", place_n)
    return found is not None


def count_waiting(hand: Hand, place_n: int) -> int:
    """Count what waits at a place."""
    found: int = hand.value(f"SELECT count(*) FROM held WHERE place_n = ? AND state = '{WAITING}'", place_n)
    return found


def count_of_device(hand: Hand, device_n: int) -> int:
    """Count what waits of a device."""
    found: int = hand.value(f"SELECT count(*) FROM held WHERE device_n = ? AND state = '{WAITING}'", device_n)
    return found


def by_ref(hand: Hand, place_n: int, ref: str) -> list[Held]:
    """Give what waits under a `ref`."""
    if ref.startswith("~"):
        return _all(hand, f"place_n = ? AND state = '{WAITING}' AND n = ?", place_n, int(ref[1:]))
    return _all(hand, f"place_n = ? AND state = '{WAITING}' AND id = ?", place_n, ref)


def waiting(hand: Hand, place_n: int) -> list[Held]:
    """Give everything that waits at a place, oldest first."""
    return _all(hand, f"place_n = ? AND state = '{WAITING}'", place_n)


def ripe(hand: Hand, place_n: int, now_us: int) -> bool:
    """Tell whether an entry dated in the future has become past."""
    found = hand.value(
        f"SELECT 1 FROM held WHERE place_n = ? AND state = '{WAITING}' AND ripe_us <= ? LIMIT 1",
        place_n,
        now_us,
    )
    return found is not None


def of_ids(hand: Hand, place_n: int, ids: Sequence[str]) -> list[Held]:
    """Give what was held under these ids and not settled, or dropped, oldest first."""
    listed, value = hand.listed(ids)
    return _all(
        hand,
        f"place_n = ? AND state IN ('{WAITING}', '{DROPPED}') AND held.id = listed.value",
        value,
        place_n,
        first=f"{listed} CROSS JOIN ",
    )


def nameless(hand: Hand, place_n: int, crcs: Sequence[int]) -> list[Held]:
    """Give what was held without an id and may be one of these bodies."""
    marks = ", ".join("?" for _ in crcs)
    return _all(
        hand,
        f"place_n = ? AND id IS NULL AND state IN ('{WAITING}', '{DROPPED}') AND crc IN ({marks})",
        place_n,
        *crcs,
    )


def settle(hand: Hand, numbers: Sequence[tuple[int, int | None]], state: str, now_us: int) -> None:
    """Change the state of held entries: pairs of their number and the `seq` they became."""
    hand.run_many(
        "UPDATE held SET state = ?, settled_us = ?, seq = ? WHERE n = ?",
        [(state, now_us, seq, n) for n, seq in numbers],
    )


def judged_again(hand: Hand, held: Held) -> None:
    """Note that a waiting entry now waits for another reason."""
    hand.run(
        "UPDATE held SET code = ?, field = ?, why = ?, figures = ?, ripe_us = ?, rights = ? WHERE n = ?",
        held.code,
        held.field,
        held.why,
        json.dumps(dict(held.values), allow_nan=False),
        held.ripe_us,
        held.rights,
        held.n,
    )


def _all(hand: Hand, condition: str, *parameters: Any, first: str = "") -> list[Held]:
    found = hand.rows(f"SELECT {_COLUMNS} FROM {first}held WHERE {condition} ORDER BY n", *parameters)
    return [Held(*row[:6], json.loads(row[6]), *row[7:]) for row in found]  # type: ignore[call-arg]
