"""The tally: nothing twice, rejects in their own month, any grouping the same total."""

import json
from datetime import date, datetime, timedelta
from itertools import pairwise
from math import fsum, isclose
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallowside.core.accounts import asks, ledger, moves
from fallowside.core.accounts.ledger import Cell
from fallowside.core.accounts.moves import Book
from fallowside.core.entries import Entry, moment, read
from fallowside.core.place import fold
from fallowside.core.plan import Fold, plan
from fallowside.core.shapes import Figure
from fallowside.core.tally import Memo, tally, year_before
from tests import ledgers
from tests.logs import AT, Raw, entry, kg, logs, setups

PLACE = fold([read(one) for one in setups()])
DAY = moment(AT).day


def made(*raws: Raw, since: str = "2026-01-01", until: str = AT) -> dict[str, object]:
    entries: list[Entry] = [read(one) for one in raws]
    return dict(tally(entries, PLACE, moment(f"{since}T12:00:00Z").day, moment(until).day))


def test_diversion_is_net_of_what_goes_to_landfill() -> None:
    """120 kg in, 6 kg rejects, 4 kg bones, 2 kg residue leave 108 kg: net-of-rejects rule, FLW Standard
    (FLW Protocol 2016) counts by final destination; the numbers are arithmetic."""
    found = made(
        entry("feed", 1, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(90)),
        entry("feed", 2, station="bin", feedstock="fish_heads", amount=kg(30)),
        entry("reject", 3, station="bed", feedstock="vegetable_scraps", amount=kg(6), to="landfill"),
        entry("reject", 4, station="bin", feedstock="bones", amount=kg(4), to="landfill"),
        entry("clear_out", 5, station="bin", amount=kg(2), to="landfill"),
        entry("reject", 6, station="bin", feedstock="bones", amount=kg(5), to="burial"),
    )
    assert found["gross_kg"] == 120.0
    assert found["rejected_kg"] == 12.0
    assert found["net"]["value"] == 108.0  # type: ignore[index]


def test_weighed_amounts_have_no_range_and_filled_containers_have_one() -> None:
    weighed = made(entry("feed", 1, station="bin", feedstock="bread", amount=kg(2)))["net"]
    filled = made(
        entry("feed", 1, station="bin", feedstock="bread", amount={"container": "caddy", "filled": 0.5})
    )["net"]
    assert (weighed["low"], weighed["high"]) == (2.0, 2.0)  # type: ignore[index]
    assert filled["value"] == pytest.approx(1.2)  # type: ignore[index]
    assert filled["low"] < 1.2 < filled["high"]  # type: ignore[index]


def test_a_month_may_fall_below_zero_and_says_so() -> None:
    found = made(
        entry("feed", 1, station="bin", feedstock="bread", amount=kg(2)),
        entry("clear_out", 60 * 24 * 40, station="bin", amount=kg(5), to="landfill"),
    )
    months = {one["month"]: one["net_kg"] for one in found["months"]}  # type: ignore[attr-defined]
    assert months["2026-03"] == 2.0
    assert months["2026-04"] == -5.0
    assert found["net"]["because"]["key"] == "tally.net_below_zero_because"  # type: ignore[index]


def test_bedding_pond_feed_and_handed_on_larvae_are_not_diversion() -> None:
    found = made(
        entry("feed", 1, station="bed", side="a", feedstock="coir", amount=kg(3)),
        entry("feed", 2, station="pond", feedstock="bread", amount=kg(1)),
        entry("given", 3, station="bin", what="larvae", amount=kg(2), to="pond"),
        entry("self_harvest", 4, station="bin", count=1000, fifty_mass={"value": 8, "unit": "g"}),
    )
    assert found["gross_kg"] == 0.0
    assert found["not_counted_kg"] == {"bedding": 3.0, "feed": 1.0}
    assert found["outputs"] == {"larvae_kg": 0.16}


def test_local_days_decide_the_month_whatever_the_offset() -> None:
    """23:30 on 31 March at UTC+9 is March there, though it is April nowhere and still 14:30 UTC."""
    late = entry("feed", 1, station="bin", feedstock="bread", amount=kg(1))
    found = made(
        {**late, "at": "2026-03-31T23:30:00+09:00"}, {**late, "id": "b", "at": "2026-04-01T00:30:00-11:00"}
    )
    months = {one["month"]: one["net_kg"] for one in found["months"]}  # type: ignore[attr-defined]
    assert (months["2026-03"], months["2026-04"]) == (1.0, 1.0)


@settings(max_examples=15, deadline=None)
@given(logs())
def test_totals_agree_by_any_grouping(log: list[Raw]) -> None:
    found = plan(log, AT)["tally"]
    gross = found["gross_kg"]
    for sums in (
        [one["kg"] for one in found["streams"]],
        list(found["stations"].values()),
        list(found["people"].values()),
        [sum(one["streams"].values()) for one in found["months"]],
    ):
        assert isclose(sum(sums), gross, rel_tol=1e-4, abs_tol=1e-9)
    value = found["net"]["value"]
    assert value is not None
    assert isclose(sum(one["net_kg"] for one in found["months"]), value, rel_tol=1e-4, abs_tol=1e-3)
    assert len(found["months"]) == 12


@settings(max_examples=30, deadline=None)
@given(logs())
def test_a_year_is_the_sum_of_its_halves(log: list[Raw]) -> None:
    good = [read(one) for one in log if one["kind"] not in ("correction", "from_a_newer_phone")]
    since, middle = year_before(DAY), moment("2026-04-15T00:00:00Z").day
    whole = tally(good, PLACE, since, DAY)["gross_kg"]
    halves = [tally(good, PLACE, *days)["gross_kg"] for days in ((since, middle), (middle + 1, DAY))]
    assert isclose(whole, sum(halves), rel_tol=1e-4, abs_tol=1e-9)


# -- what counts ---------------------------------------------------------------------------------


def test_measured_and_estimated_are_kept_apart() -> None:
    found = made(
        entry("feed", 1, station="bin", feedstock="bread", amount=kg(2)),
        entry("feed", 2, station="bin", feedstock="bread", amount={"container": "caddy", "filled": 1}),
        entry("reject", 3, station="bin", feedstock="bones", amount=kg(0.5), to="landfill"),
    )
    assert found["measured_kg"] == 1.5
    assert found["estimated"]["mid"] == 2.4  # type: ignore[index]
    low, high = (found["estimated"][end] for end in ("low", "high"))  # type: ignore[index]
    assert low < 2.4 < high
    assert found["net"]["low"] == pytest.approx(1.5 + low, abs=1e-4)  # type: ignore[index]


def test_dry_matter_follows_the_moisture_of_the_material() -> None:
    """Vegetable scraps hold 87 % water in the table: 10 kg are 1.3 kg dry."""
    dry = made(entry("feed", 1, station="bin", feedstock="vegetable_scraps", amount=kg(10)))["dry"]
    assert dry["mid"] == pytest.approx(1.3)  # type: ignore[index]
    assert 0.0 < dry["low"] < 1.3 < dry["high"]  # type: ignore[index]


def test_what_never_counted_is_never_taken_off() -> None:
    found = made(
        entry("feed", 1, station="bin", feedstock="bread", amount=kg(5)),
        entry("reject", 2, station="pond", feedstock="fish_heads", amount=kg(3), to="landfill"),
        entry("reject", 3, station="bed", feedstock="coir", amount=kg(2), to="landfill"),
    )
    assert found["net"]["value"] == 5.0  # type: ignore[index]
    assert found["rejected_apart_kg"] == {"bedding": 2.0, "fish": 3.0}


def test_what_is_buried_is_told_apart_and_stays_diverted() -> None:
    found = made(
        entry("feed", 1, station="bin", feedstock="fish_heads", amount=kg(5)),
        entry("reject", 2, station="bin", feedstock="bones", amount=kg(1), to="burial"),
    )
    assert (found["net"]["value"], found["elsewhere_kg"]) == (5.0, 1.0)  # type: ignore[index]


def test_residue_to_landfill_is_a_stream_of_its_own() -> None:
    found = made(
        entry("feed", 1, station="bin", feedstock="bread", amount=kg(5)),
        entry("clear_out", 2, station="bin", amount=kg(2), to="landfill"),
    )
    rows = {one["stream"]: (one["kg"], one["net_kg"]) for one in found["streams"]}  # type: ignore[attr-defined]
    assert rows == {"kitchen": (5.0, 5.0), "residue": (0.0, -2.0)}
    assert found["kept_pct"] == 60.0


def test_nothing_brought_has_no_share_kept() -> None:
    assert made()["kept_pct"] is None


def test_a_feed_by_nobody_is_in_every_grouping() -> None:
    nobody = {**entry("feed", 1, station="bin", feedstock="bread", amount=kg(2)), "by": ""}
    assert made(nobody)["people"] == {"": 2.0}


# -- containers ----------------------------------------------------------------------------------


def weighed(minutes: float, full_kg: float, **more: Any) -> Raw:
    fields = {"full_mass": kg(full_kg), **more}
    return entry("setup", minutes, what="container", item="caddy", set=fields)


def caddies(minutes: float, filled: float = 1.0) -> Raw:
    amount = {"container": "caddy", "filled": filled}
    return entry("feed", minutes, station="bin", feedstock="bread", amount=amount)


def test_an_amount_keeps_the_calibration_of_its_time() -> None:
    log = [*setups(), caddies(60), weighed(120, 3.0), caddies(180)]
    assert ledgers.year(log)["gross_kg"] == pytest.approx(2.4 + 3.0)


def test_before_the_first_weighing_the_first_counts() -> None:
    bare = [one for one in setups() if one["item"] != "caddy"]
    log = [*bare, caddies(60), weighed(120, 3.0)]
    assert ledgers.year(log)["gross_kg"] == pytest.approx(3.0)


def test_a_mistaken_weighing_is_mended_by_a_correction_for_all_its_time() -> None:
    mended = entry(
        "correction",
        500,
        of="setup-container-caddy",
        action="replace",
        **{"with": {"set": {"full_mass": kg(2.0)}}},
    )
    log = [*setups(), caddies(60), weighed(120, 3.0), caddies(180), mended]
    assert ledgers.year(log)["gross_kg"] == pytest.approx(2.0 + 3.0)


def width(figure: Figure) -> float:
    assert figure["low"] is not None
    assert figure["high"] is not None
    return figure["high"] - figure["low"]


def test_more_weighings_shrink_the_error_that_all_fillings_share() -> None:
    once = ledgers.year([*setups(), *(caddies(n) for n in range(60, 100))])["net"]
    log = [*setups(), weighed(1, 2.4, weighed_times=16), *(caddies(n) for n in range(60, 100))]
    often = ledgers.year(log)["net"]
    assert once["value"] == often["value"]
    assert width(often) < 0.5 * width(once)


def test_a_container_nobody_measured_is_set_aside_by_name() -> None:
    bare = {"what": "container", "item": "tub", "set": {"name": "Tub"}}
    fed = entry("feed", 60, station="bin", feedstock="bread", amount={"container": "tub"})
    aside = plan([*setups(), entry("setup", 2, **bare), fed], AT)["made_from"]["set_aside"]
    assert [(one["id"], one["why"]) for one in aside] == [(fed["id"], "no_measure")]


def test_a_weighed_container_needs_no_density() -> None:
    fields = {"name": "Odds", "stream": "kitchen", "like": "shellfish", "bulk_density_kg_per_l": None}
    odd = entry("setup", 1, what="feedstock", item="odds", set=fields)
    fed = entry("feed", 60, station="bin", feedstock="odds", amount={"container": "caddy"})
    assert ledgers.year([*setups(), odd, fed])["gross_kg"] == 2.4


# -- asked about ---------------------------------------------------------------------------------


def daily(kilograms: float, days: int = 60) -> list[Raw]:
    return [
        entry("feed", 1 + 1440 * day, station="bin", feedstock="bread", amount=kg(kilograms))
        for day in range(days)
    ]


def eaters(people: int) -> Raw:
    return entry("setup", 0, what="place", item="place", set={"people_eating": people})


def asked(*raws: Raw) -> list[str]:
    return [one["code"] for one in ledgers.year([*setups(), *raws])["asks"]]


def test_the_benchmark_of_households_asks_about_too_much_and_too_little() -> None:
    """A household has 79 kg a year for each person (UNEP Food Waste Index Report 2024); the bounds at
    which we ask, 20 and 250 kg, are our own."""
    usual = 79.0 * 4 / 365.0
    assert asked(eaters(4), *daily(usual, 107)) == []
    assert asked(eaters(4), *daily(4.0 * usual, 107)) == ["ask.per_person"]
    assert asked(eaters(4), *daily(0.2 * usual, 107)) == ["ask.per_person"]
    assert asked(*daily(4.0 * usual, 107)) == []


def test_a_slipped_decimal_point_is_asked_about_by_its_entry() -> None:
    slip = entry("feed", 77, station="bin", feedstock="bread", amount=kg(50.0))
    found = ledgers.year([*setups(), *daily(0.5), slip])["asks"]
    assert [(one["code"], one["because"]["entries"]) for one in found] == [("ask.odd_one", [slip["id"]])]


def test_more_to_landfill_than_came_is_asked_about_and_not_refused() -> None:
    fed = entry("feed", 1, station="bin", feedstock="bread", amount=kg(2))
    gone = entry("reject", 9, station="bin", feedstock="bones", amount=kg(5), to="landfill")
    found = ledgers.year([*setups(), fed, gone])
    assert found["net"]["value"] == -3.0
    assert [one["code"] for one in found["asks"]] == ["ask.reject_larger"]
    assert found["asks"][0]["because"]["entries"] == [gone["id"]]


# -- whatever the grouping, the order, the clock -------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(ledgers.ledgers())
def test_cells_add_up_to_the_same_by_every_heading(log: list[Raw]) -> None:
    entries, place = ledgers.read(log)
    cells = ledger.cells(Book().moves(entries, place))
    for way in ("fed", "landfilled", "apart"):
        whole = fsum(total.kg for cell, total in cells.items() if cell.way == way)
        for field in ("month", "station", "person", "stream", "material"):
            groups = ledger.grouped(cells, lambda cell, field=field: getattr(cell, field), way)  # type: ignore[misc]
            assert isclose(fsum(one.kg for one in groups.values()), whole, rel_tol=1e-12, abs_tol=1e-12)
            measured = fsum(one.measured + one.estimated for one in groups.values())
            assert isclose(measured, whole, rel_tol=1e-12, abs_tol=1e-12)


@settings(max_examples=25, deadline=None)
@given(ledgers.ledgers())
def test_each_entry_moves_once_and_only_from_outside_adds(log: list[Raw]) -> None:
    entries, place = ledgers.read(log)
    made = Book().moves(entries, place)
    assert len({move.id for move in made}) == len(made)
    assert all(move.route.source.sort == "in" for move in made if move.route.way == "fed")


def a_feed(log: list[Raw], data: st.DataObject) -> tuple[str, float] | None:
    """Draw a feed that counts and no correction speaks of: its id and mass."""
    touched = {one["of"] for one in log if one["kind"] == "correction"}
    entries, place = ledgers.read(log)
    feeds = [one for one in entries if one.kind == "feed" and one.id not in touched]
    if not feeds:
        return None
    fed = data.draw(st.sampled_from(feeds))
    return fed.id, place.mass(fed.data["amount"], fed.data["feedstock"], fed.us).kg


@settings(max_examples=25, deadline=None)
@given(ledgers.ledgers(), st.data())
def test_taking_an_entry_back_moves_exactly_what_it_moved(log: list[Raw], data: st.DataObject) -> None:
    fed = a_feed(log, data)
    if fed is None:
        return
    gone = {**entry("correction", 143_000, of=fed[0], action="retract"), "id": "gone"}
    back = {**entry("correction", 143_001, of="gone", action="retract"), "id": "back"}
    before, after, restored = (sums(one) for one in (log, [*log, gone], [*log, gone, back]))
    assert restored == before
    moved = {cell: kg - after.get(cell, 0.0) for cell, kg in before.items()}
    changed = [kg for kg in moved.values() if abs(kg) > 1e-12]
    assert len(changed) == 1
    assert changed[0] == pytest.approx(fed[1], rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(ledgers.ledgers(), st.floats(0.1, 9.0), st.data())
def test_mending_an_amount_moves_the_difference(
    log: list[Raw], kilograms: float, data: st.DataObject
) -> None:
    fed = a_feed(log, data)
    if fed is None:
        return
    change = {"with": {"amount": kg(kilograms)}}
    mend = {**entry("correction", 143_000, of=fed[0], action="replace", **change), "id": "mend"}
    difference = fsum(sums([*log, mend]).values()) - fsum(sums(log).values())
    assert difference == pytest.approx(kilograms - fed[1], rel=1e-9, abs=1e-9)


def sums(log: list[Raw]) -> dict[Cell, float]:
    entries, place = ledgers.read(log)
    return {cell: total.kg for cell, total in ledger.cells(Book().moves(entries, place)).items()}


@settings(max_examples=20, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 31, 23, 59), timezones=st.timezones()),
            st.floats(0.01, 9.0),
            st.sampled_from(["feed", "reject", "castings"]),
        ),
        max_size=40,
    )
)
def test_a_year_is_the_sum_of_its_months_in_any_time_zone(
    happened: list[tuple[datetime, float, str]],
) -> None:
    fields = {
        "feed": {"station": "bed", "side": "a", "feedstock": "bread"},
        "reject": {"station": "bed", "feedstock": "bread", "to": "landfill"},
        "castings": {"station": "bed", "side": "a", "method": "top_layers"},
    }
    raws = [
        {
            "id": f"e{n}",
            "kind": kind,
            "at": at.isoformat(timespec="seconds")[:19] + offset(at),
            "by": "ana",
            "amount": kg(mass),
            **fields[kind],
        }
        for n, (at, mass, kind) in enumerate(happened)
    ]
    good = sorted(read(one) for one in raws)
    starts = [date(2026, month, 1) for month in range(1, 13)] + [date(2027, 1, 1)]
    year = tally(good, PLACE, starts[0].toordinal(), starts[12].toordinal() - 1)
    months = [tally(good, PLACE, one.toordinal(), after.toordinal() - 1) for one, after in pairwise(starts)]
    for name in ("gross_kg", "rejected_kg"):
        assert fsum(one[name] for one in months) == pytest.approx(year[name], rel=2e-5, abs=1e-9)
    assert [one["net_kg"] for one in year["months"]] == [one["net"]["value"] for one in months]
    by_hand = fsum(mass for _, mass, kind in happened if kind == "feed")
    assert year["gross_kg"] == pytest.approx(by_hand, rel=1e-5, abs=1e-9)


def offset(at: datetime) -> str:
    """Write the offset to UTC as RFC 3339 has it: whole minutes, so old zones' seconds go."""
    shift = at.utcoffset() or timedelta()
    minutes = int(shift.total_seconds() // 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def test_the_night_the_clocks_go_back_has_one_day_only() -> None:
    """Two entries at 02:30 of 25 October 2026, an hour apart, in a zone that turns its clock back then."""
    first = entry("feed", 1, station="bin", feedstock="bread", amount=kg(1))
    twice = [
        {**first, "id": one, "at": f"2026-10-25T02:30:00{offset}"}
        for one, offset in (("a", "+02:00"), ("b", "+01:00"))
    ]
    assert read(twice[1]).us - read(twice[0]).us == 3_600_000_000
    found = made(*twice, since="2026-10-25", until="2026-10-25T12:00:00Z")
    assert found["gross_kg"] == 2.0


@settings(max_examples=20, deadline=None)
@given(ledgers.ledgers(), st.integers(0, 60))
def test_a_tally_that_remembers_is_the_tally(log: list[Raw], cut: int) -> None:
    entries, place = ledgers.read(log)
    day = moment(AT).day
    memo = Memo()
    tally(entries[: max(0, len(entries) - cut)], place, year_before(day), day, memo)
    assert tally(entries, place, year_before(day), day, memo) == tally(entries, place, year_before(day), day)


def test_moves_of_a_longer_log_are_those_read_anew() -> None:
    raws = [entry("self_harvest", 5 + n, station="bin", count=100) for n in range(3)]
    late = entry("self_harvest", 99, station="bin", count=10, fifty_mass={"value": 5, "unit": "g"})
    entries, place = ledgers.read([*setups(), *raws, late])
    book = Book()
    book.moves(entries[:-1], place)
    assert list(book.moves(entries, place)) == list(Book().moves(entries, place))


def test_ways_are_what_the_ledger_knows() -> None:
    bed, hand = moves.Account("at", "bed"), moves.Account("hand", "larvae")
    assert moves.way_of("kitchen", moves.Account("in", "kitchen"), bed, "bed") == "fed"
    assert moves.way_of("bedding", moves.Account("in", "bedding"), bed, "bed") == "apart"
    assert moves.way_of("feed", bed, hand, "bin") == ""


def test_a_feed_is_asked_about_above_a_weeks_scraps_of_all_who_eat_here() -> None:
    """Arithmetic: 2 people, 250 kg a year each, 7 of 365.2425 days. The rate: common practice, no source."""
    place = entry("setup", 1, what="place", item="place", set={"people_eating": 2})
    found = asks.feed_limit(fold([read(one) for one in [*setups(), place]]))
    assert found["kg"] == pytest.approx(2 * 250 * 7 / 365.2425, rel=1e-5)
    assert found["streams"] == ["kitchen"]
    assert asks.feed_limit(PLACE)["kg"] is None


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ledgers.ledgers(), st.data())
def test_a_tally_read_on_is_the_tally_of_all_there_is(log: list[Raw], data: st.DataObject) -> None:
    shuffled = data.draw(st.permutations(log[len(setups()) :]))
    growing, start = Fold(log[: len(setups())]), data.draw(st.integers(0, len(shuffled)))
    growing.add(shuffled[:start])
    growing.tally("2026-03-05", "2026-06-15", AT)
    for number, more in enumerate(shuffled[start:], start + 1):
        growing.add([more])
        asked = data.draw(st.sampled_from(["2026-03-05", "2026-03-05", "2026-04-20"])), "2026-06-15"
        fresh = Fold([*log[: len(setups())], *shuffled[:number]])
        assert json.dumps(growing.tally(*asked, AT)) == json.dumps(fresh.tally(*asked, AT))
