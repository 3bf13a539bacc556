"""Which browsers take messages, and which matters their people have been told of."""

import hashlib
from collections.abc import Collection
from dataclasses import dataclass

from fallowside.remind import push
from fallowside.remind.push import Browser
from fallowside.store.database import Hand

MOST = 10
"""Browsers of one person; the oldest goes first."""


@dataclass(frozen=True, slots=True)
class Subscription:
    """A browser that takes messages for a person.

    Attributes:
        n: Its number.
        person: For whom.
        holder: Whose phone it is; '' for that of a host who isn't set up.
        browser: Where messages go.
        language: Of the words.
    """

    n: int
    person: str
    holder: str
    browser: Browser
    language: str


def start(
    hand: Hand,
    place_n: int,
    person: str,
    session: int | None,
    browser: Browser,
    language: str,
    now_us: int,
) -> None:
    """Let a browser take messages for a person; who had it before has it no more.

    Args:
        hand: The transaction.
        place_n: The place.
        person: For whom.
        session: The phone's session, with which its messages end; None on the host's own machine.
        browser: Where messages go.
        language: Of the words.
        now_us: The clock. [microseconds]
    """
    hand.run("DELETE FROM subscription WHERE hash = ?", _hashed(browser.endpoint))
    hand.run(
        "INSERT INTO subscription "
        "(place_n, person, session_n, hash, endpoint, key, secret, language, made_us) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        place_n,
        person,
        session,
        _hashed(browser.endpoint),
        browser.endpoint,
        push.encoded(browser.key),
        push.encoded(browser.secret),
        language,
        now_us,
    )
    hand.run(
        "DELETE FROM subscription WHERE place_n = ? AND person = ? AND n NOT IN "
        "(SELECT n FROM subscription WHERE place_n = ? AND person = ? ORDER BY n DESC LIMIT ?)",
        place_n,
        person,
        place_n,
        person,
        MOST,
    )


def end(hand: Hand, place_n: int, endpoint: str) -> None:
    """Let a browser take no more messages."""
    hand.run("DELETE FROM subscription WHERE place_n = ? AND hash = ?", place_n, _hashed(endpoint))


def subscriptions(hand: Hand, place_n: int, seen_since_us: int) -> list[Subscription]:
    """Give every browser of a place that takes messages, but those on phones no longer let in.

    Args:
        hand: The transaction.
        place_n: The place.
        seen_since_us: The session of a phone that hasn't called since then has lapsed. [microseconds]
    """
    found = hand.rows(
        "SELECT subscription.n, subscription.person, COALESCE(session.person, subscription.person), "
        "endpoint, key, secret, language "
        "FROM subscription LEFT JOIN session ON session.n = session_n WHERE subscription.place_n = ? "
        "AND (session_n IS NULL OR (ended_us IS NULL AND seen_us >= ?)) ORDER BY subscription.n",
        place_n,
        seen_since_us,
    )
    return [
        Subscription(n, person, holder, Browser(endpoint, push.decoded(key), push.decoded(secret)), language)
        for n, person, holder, endpoint, key, secret, language in found
    ]


def told(hand: Hand, place_n: int, person: str) -> frozenset[str]:
    """Give the matters a person has been told of."""
    found = hand.rows("SELECT matter FROM told WHERE place_n = ? AND person = ?", place_n, person)
    return frozenset(row[0] for row in found)


def tell(hand: Hand, place_n: int, person: str, matters: Collection[str], now_us: int) -> None:
    """Note that a person was told of matters."""
    hand.run_many(
        "INSERT INTO told (place_n, person, matter, told_us) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
        [(place_n, person, matter, now_us) for matter in matters],
    )


def forget(hand: Hand, place_n: int, person: str, matters: Collection[str]) -> None:
    """Forget that a person was told of matters, since they are over: their like is told anew."""
    hand.run_many(
        "DELETE FROM told WHERE place_n = ? AND person = ? AND matter = ?",
        [(place_n, person, matter) for matter in matters],
    )


def _hashed(endpoint: str) -> str:
    return hashlib.sha256(endpoint.encode()).hexdigest()
