"""Tokens of probes: one a station, shown once. It lets readings of that station in, and nothing else."""

from fallowside.access import tokens
from fallowside.store import log
from fallowside.store.database import Database


def start(database: Database, station: str, now_us: int) -> str:
    """Make the token of a station anew; the one before it ends."""
    token = tokens.drawn()
    with database.write() as hand:
        place_n = log.open_place(hand, now_us).n
        hand.run(
            "UPDATE probe SET ended_us = ? WHERE place_n = ? AND station = ? AND ended_us IS NULL",
            now_us,
            place_n,
            station,
        )
        hand.run(
            "INSERT INTO probe (place_n, station, hash, made_us) VALUES (?, ?, ?, ?)",
            place_n,
            station,
            tokens.hashed(token),
            now_us,
        )
    return token


def end(database: Database, station: str, now_us: int) -> bool:
    """End the token of a station at once; False if it had none."""
    with database.write() as hand:
        found = hand.rows(
            "UPDATE probe SET ended_us = ? WHERE place_n = ? AND station = ? AND ended_us IS NULL "
            "RETURNING n",
            now_us,
            log.open_place(hand, now_us).n,
            station,
        )
    return bool(found)


def station_of(database: Database, token: str) -> str | None:
    """Give the station whose probes hold a token, or None."""
    with database.read() as hand:
        found: str | None = hand.value(
            "SELECT station FROM probe WHERE place_n = ? AND hash = ? AND ended_us IS NULL",
            log.place_number(hand),
            tokens.hashed(token),
        )
    return found
