"""The tally: nothing twice, rejects in their own month, any grouping the same total."""

from math import isclose

import pytest
from hypothesis import given, settings

from fallowside.core.entries import Entry, moment, read
from fallowside.core.place import fold
from fallowside.core.plan import plan
from fallowside.core.tally import tally, year_before
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
