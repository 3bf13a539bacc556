"""The balance of the place: it closes, whatever happened, and periods join without a gap."""

from math import fsum
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import sources
from fallowside.core.accounts.balance import Account, Amount, Balance, Books, total
from fallowside.core.accounts.moves import Book
from fallowside.core.entries import moment
from fallowside.core.tally import year_before
from tests import ledgers
from tests.logs import AT, Raw, entry, kg, setups

DAY = moment(AT).day
CLOSED = 1e-9
FIELDS = ("wet_kg", "dry_kg", "nitrogen_kg")


def balanced(log: list[Raw], since: int = year_before(DAY), until: int = DAY) -> Balance:
    entries, place = ledgers.read(log)
    return Books().balance(Book().moves(entries, place), place, since, until)


def account(found: Balance, name: str) -> Account:
    return next(one for one in found.accounts if one.name == name)


def bread(minutes: float, kilograms: float, **more: Any) -> Raw:
    fields = {"station": "bin", "feedstock": "bread", "amount": kg(kilograms), **more}
    return entry("feed", minutes, **fields)


@settings(max_examples=60, deadline=None)
@given(ledgers.ledgers(), st.integers(0, 110), st.integers(0, 110))
def test_every_account_and_the_place_close(log: list[Raw], one: int, other: int) -> None:
    since, until = sorted((DAY - one, DAY - other))
    found = balanced(log, since, until)
    for each in (found.place, *found.accounts):
        assert max(map(abs, each.open)) < CLOSED


@settings(max_examples=40, deadline=None)
@given(ledgers.ledgers())
def test_the_shape_closes_as_it_is_read(log: list[Raw]) -> None:
    shape = ledgers.year(log)["balance"]
    for one in (shape["place"], *shape["accounts"]):
        for field in FIELDS:
            came, left = (fsum(flow[field] for flow in one[side]) for side in ("came", "left"))  # type: ignore[literal-required]
            before, lost, after = (one[name][field] for name in ("before", "lost", "after"))  # type: ignore[literal-required]
            assert abs(fsum((before, came, -left, -lost, -after))) < CLOSED
    assert shape["open_kg"] < CLOSED


@settings(max_examples=30, deadline=None)
@given(ledgers.ledgers(), st.integers(1, 100))
def test_a_period_begins_where_the_one_before_ended(log: list[Raw], ago: int) -> None:
    cut, since = DAY - ago, year_before(DAY)
    whole, first, second = balanced(log), balanced(log, since, cut), balanced(log, cut + 1, DAY)
    assert near(first.place.after, second.place.before)
    assert near(whole.place.after, second.place.after)
    assert near(whole.place.lost, first.place.lost.plus(second.place.lost))
    for side in ("came", "left"):
        halves = total(getattr(first.place, side)).plus(total(getattr(second.place, side)))
        assert near(total(getattr(whole.place, side)), halves)


@settings(max_examples=30, deadline=None)
@given(ledgers.ledgers(), st.lists(st.integers(0, 200), min_size=2, max_size=4))
def test_books_kept_open_give_what_new_ones_give(log: list[Raw], ago: list[int]) -> None:
    entries, place = ledgers.read(log)
    posted = Book().moves(entries, place)
    kept = Books()
    for days in sorted(ago, reverse=True) + ago:
        since = DAY - days
        assert kept.balance(posted, place, since, DAY) == Books().balance(posted, place, since, DAY)


@settings(max_examples=30, deadline=None)
@given(ledgers.ledgers())
def test_the_place_is_its_accounts_and_what_passes_between_them_cancels(log: list[Raw]) -> None:
    found = balanced(log)
    for name in ("before", "after", "lost"):
        parts = total({str(n): getattr(one, name) for n, one in enumerate(found.accounts)})
        assert near(getattr(found.place, name), parts)
    inside = [
        amount
        for one in found.accounts
        for amounts, sign in ((one.came, 1.0), (one.left, -1.0))
        for amount in (
            Amount(*(sign * figure for figure in amount))
            for name, amount in amounts.items()
            if name.startswith(("at ", "hand "))
        )
    ]
    assert near(total({str(n): one for n, one in enumerate(inside)}), Amount())


def near(one: Amount, other: Amount) -> bool:
    return all(abs(a - b) < CLOSED for a, b in zip(one, other, strict=True))


def test_dry_matter_turns_into_gas_at_its_pace_and_stops_at_its_share() -> None:
    """First-order: after t days respired = share (1 - exp(-pace t)); a log long dead has lost the share."""
    log = [*setups(), bread(1, 10.0)]
    dry = 10.0 * (1.0 - 0.36)
    share, pace = sources.value("recovered.bin_respired"), sources.value("recovered.bin_pace")
    lost = account(balanced(log), "at bin").lost.dry_kg
    assert lost == pytest.approx(dry * share, rel=1e-4)
    day = moment(log[-1]["at"]).day
    after_a_week = account(balanced(log, day, day + 6), "at bin").lost.dry_kg
    assert after_a_week == pytest.approx(dry * share * (1.0 - 2.718281828459045 ** (-7.0 * pace)), rel=1e-9)


def test_castings_fed_again_are_moved_not_made() -> None:
    log = [
        *setups(),
        entry("feed", 1, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(50)),
        entry("castings", 60_000, station="bed", side="a", amount=kg(3), method="top_layers"),
        entry("feed", 60_001, station="bed", side="b", feedstock="finished_castings", amount=kg(3)),
    ]
    found = balanced(log)
    assert list(found.place.came) == ["in kitchen"]
    assert found.place.left == {}
    hand = account(found, "hand castings")
    assert hand.after == pytest.approx((0.0, 0.0, 0.0), abs=1e-12)


def test_larvae_frozen_or_kept_for_spring_are_in_hand_and_those_given_to_hens_are_out() -> None:
    given_to = {"station": "bin", "what": "larvae", "amount": kg(0.4)}
    log = [
        *setups(),
        bread(1, 20.0),
        entry("self_harvest", 30_000, station="bin", amount=kg(1.0)),
        entry("given", 30_001, **given_to, to="frozen"),
        entry("given", 30_002, **given_to, to="hens"),
        entry("given", 30_003, **given_to, to="kept"),
    ]
    found = balanced(log)
    assert account(found, "hand larvae").after.wet_kg == pytest.approx(0.6)
    assert found.place.left["out hens"].wet_kg == pytest.approx(0.4)


def test_what_is_drawn_from_the_pond_for_a_bed_goes_there() -> None:
    log = [*setups(), entry("solids", 5, station="pond", amount={"value": 8, "unit": "L"}, to="bed")]
    assert set(account(balanced(log), "at bed").came) == {"at pond"}


def test_a_pond_starts_with_its_fish() -> None:
    stocked = entry("setup", 0, what="station", item="pond", set={"fish_stock": kg(30)})
    caught = entry("catch", 9, station="pond", species="carp", number=2, mass=kg(2.0), fate="killed")
    pond = account(balanced([*setups(), stocked, caught]), "at pond")
    assert pond.came["in stock"].wet_kg == 30.0
    assert pond.after.dry_kg == pytest.approx(pond.came["in stock"].dry_kg * 28.0 / 30.0)


def test_honey_is_no_part_of_it() -> None:
    log = [*setups(), entry("hive_harvest", 5, station="hive", amount=kg(9), water_pct=17.0)]
    assert balanced(log).accounts == []


def test_more_out_than_was_recorded_going_in_is_said() -> None:
    taken = entry("castings", 5, station="bed", side="a", amount=kg(9), method="top_layers")
    found = ledgers.year([*setups(), taken])["balance"]
    assert found["place"]["after"]["dry_kg"] <= 0.0
    assert found["because"]["values"]["short"] == "Trough"
