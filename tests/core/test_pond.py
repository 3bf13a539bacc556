"""The pond: each fish in one place at a time, feed that stops when it must, a bath that stays closed."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fallowside.core.entries import Problem, problem
from fallowside.core.plan import plan
from fallowside.core.water import fishstock
from fallowside.core.water.pondlog import protein_share
from tests.ledgers import read
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import POND, opened, set_up, waters

DAY = 24 * 60
NOW = 106 * DAY


def pond(log: list[Raw], at: str = AT) -> Any:
    return next(one for one in plan(log, at)["stations"] if one["id"] == "pond")


def codes(made: Any) -> list[str]:
    return [one["code"] for one in made["warnings"]]


def warm(celsius: float = 24.0, minutes: float = NOW) -> Raw:
    return entry("reading", minutes, station="pond", temperature={"value": celsius, "unit": "degC"})


def caught(minutes: float = NOW, **fields: Any) -> Raw:
    return entry(
        "catch", minutes, station="pond", **{"species": "perch", "number": 3, "fate": "killed", **fields}
    )


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(waters("pond", POND))
def test_a_fish_is_in_one_place_at_a_time(log: list[Raw]) -> None:
    entries, place = read(log)
    station = place.stations["pond"]
    stock = fishstock.read(station, [one for one in entries if one.station == "pond"], place)
    for shoal in stock.shoals.values():
        assert min(shoal.now.values()) >= 0
        assert sum(shoal.now.values()) == shoal.put_in + shoal.found


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(waters("pond", POND))
def test_the_plan_never_fails_on_entries_of_a_pond_that_were_taken(log: list[Raw]) -> None:
    log = [*log, opened(), set_up(fish_stock=kg(12.0), fish_species="carp", fish_number=30)]
    known = read(log)[1].known()
    assert [raw for raw in log if problem(raw, known=known) is not None] == []
    assert pond(log)["state"]["day"]["bath"]["open"] is True


def test_fish_are_to_be_fed_the_day_after_they_were_and_never_fed_today() -> None:
    def due(log: list[Raw]) -> list[str]:
        return [one["due"] for one in pond(log)["jobs"] if one["what"] == "feed_fish"]

    log = [*setups(), set_up(fish_stock=kg(12.0), fish_species="carp", fish_number=30), warm()]
    assert due(log) == [AT[:10]]
    fed = entry("feed", NOW - 3 * DAY, station="pond", feedstock="fish_feed", amount=kg(0.1))
    day = date.fromisoformat(fed["at"][:10]) + timedelta(days=1)
    assert due([*log, fed]) == [str(day)]


def test_held_fish_come_from_the_pond_and_go_back_to_it() -> None:
    log = [
        *setups(),
        entry("stocking", 10, station="pond", species="Perch", number=20, mass=kg(2.0)),
        {**caught(20, number=5, fate="held"), "id": "a"},
        {**caught(30, number=2, fate="killed", **{"from": "holding"}, mass=kg(0.5)), "id": "b"},
        {**caught(40, number=3, fate="released", **{"from": "holding"}), "id": "c"},
    ]
    (shoal,) = pond(log)["state"]["shoals"]
    assert (shoal["pond"], shoal["held"], shoal["killed"]) == (18, 0, 2)
    assert shoal["grams"]["value"] == 250.0


def test_growth_between_weighings_is_told() -> None:
    log = [
        *setups(),
        entry("stocking", 10, station="pond", species="perch", number=20, mass=kg(2.0)),
        entry("fish_sample", 10 + 30 * 24 * 60, station="pond", species="perch", number=10, mass=kg(1.6)),
    ]
    growth = pond(log)["state"]["shoals"][0]["growth"]
    assert growth["value"] == pytest.approx(2.0)
    assert growth["because"]["values"]["days"] == 30


def test_a_catch_heavier_than_the_stock_is_asked_about_in_words() -> None:
    log = [*setups(), set_up(fish_stock=kg(5.0)), caught(mass=kg(9.0))]
    made = pond(log)
    found = next(one for one in made["warnings"] if one["code"] == "more_than_stock")
    assert (found["because"]["values"]["mass"], found["because"]["values"]["limit"]) == (9.0, 5.0)
    before = pond(log[:-1])
    assert [one["above"] for one in before["limits"] if one["field"] == "mass"] == [5.0]


def test_more_fish_than_were_counted_are_asked_about() -> None:
    log = [*setups(), entry("stocking", 10, station="pond", species="perch", number=2), caught(number=3)]
    assert "more_fish_than_counted" in codes(pond(log))


# -- feed ---------------------------------------------------------------------------------------------


def stocked() -> list[Raw]:
    return [*setups(), entry("stocking", 10, station="pond", species="tilapia", number=100, mass=kg(20.0))]


def test_feed_follows_the_table_and_what_was_fed_today_is_taken_off() -> None:
    log = [*stocked(), warm(24.0)]
    ration = pond(log)["ration"]
    assert (ration["limit"], ration["kg"]) == ("careful", pytest.approx(0.4))
    assert ration["because"]["key"] == "pond.ration.careful"
    fed = entry("feed", NOW + 1, station="pond", feedstock="fish_feed", amount=kg(0.3))
    ration = pond([*log, fed])["ration"]
    assert (ration["limit"], ration["kg"]) == ("fed", pytest.approx(0.1))
    assert ration["because"]["key"] == "pond.ration.fed_careful"


def test_trout_are_fed_by_their_table_and_nothing_is_said_of_care() -> None:
    trout = entry("stocking", 10, station="pond", species="Regenbogenforelle", number=40, mass=kg(10.0))
    ration = pond([*setups(), trout, warm(12.0)])["ration"]
    assert (ration["limit"], ration["kg"]) == ("table", pytest.approx(0.075))
    assert ration["because"]["constants"] == ["pond.feed_trout_large_mild"]


@pytest.mark.parametrize(
    ("more", "limit"),
    [
        ([warm(9.0)], "still"),
        ([warm(34.0)], "hot"),
        ([warm(24.0), entry("signs", NOW, station="pond", signs=["fish_gasping"])], "gasping"),
        ([warm(24.0), entry("water_test", NOW, station="pond", oxygen_mg_per_l=2.0)], "oxygen"),
        (
            [{**warm(24.0), "ph": 9.0}, entry("water_test", NOW, station="pond", ammonia_mg_per_l=2.0)],
            "ammonia",
        ),
    ],
)
def test_nothing_is_fed_where_it_would_harm(more: list[Raw], limit: str) -> None:
    ration = pond([*stocked(), *more])["ration"]
    assert (ration["limit"], ration["kg"]) == (limit, 0.0)


@pytest.mark.parametrize(("day", "limit"), [("2026-06-16", "fasting"), ("2026-06-17", "careful")])
def test_fish_to_be_taken_are_not_fed_the_day_before(day: str, limit: str) -> None:
    fields = {"day": day, "species": "tilapia", "number": 4, "cut": "whole_gutted"}
    planned = {**entry("catch_plan", NOW, station="pond"), **fields}
    assert pond([*stocked(), warm(24.0), planned])["ration"]["limit"] == limit


@pytest.mark.parametrize(("days", "known"), [(1, True), (60, False)])
def test_ammonia_is_not_judged_by_an_acidity_of_another_season(days: int, known: bool) -> None:
    acid = entry("reading", NOW - days * 24 * 60, station="pond", ph=7.0)
    test = entry("water_test", NOW, station="pond", ammonia_mg_per_l=2.0)
    made = pond([*stocked(), acid, warm(24.0), test])
    assert (made["state"]["unionised_mg_per_l"] is not None) is known


def test_a_fish_found_dead_is_not_the_catch_that_was_planned() -> None:
    fields = {"day": "2026-06-16", "species": "tilapia", "number": 4, "cut": "whole_gutted"}
    planned = {**entry("catch_plan", NOW - 5, station="pond"), **fields}
    dead = caught(NOW, species="tilapia", number=1, fate="died")
    made = pond([*stocked(), warm(24.0), planned, dead])
    assert made["ration"]["limit"] == "fasting"
    assert [one["id"] for one in made["state"]["day"]["planned"]] == [planned["id"]]


def test_without_a_temperature_there_is_no_ration() -> None:
    assert pond(stocked())["ration"] is None


def test_larvae_over_their_share_and_unasked_are_named() -> None:
    larvae = entry("feed", NOW, station="pond", feedstock="larvae", amount=kg(1.0))
    assert {"larvae_not_checked", "larvae_over_share"} <= set(codes(pond([*stocked(), larvae])))


def test_larvae_that_another_station_gave_count_as_feed() -> None:
    given_ = entry("given", NOW, station="bin", what="larvae", amount=kg(0.5), to="pond")
    assert pond([*stocked(), given_])["state"]["feed_month_kg"]["value"] == 0.5


def test_solids_drawn_for_a_bed_are_felt_by_its_mix_and_its_water() -> None:
    """Wet and rich in nitrogen: the bed grows wetter, its C:N falls, and it asks for card."""
    drawn = entry("solids", NOW - DAY, station="pond", amount=kg(6.0), to="bed")
    fed = entry("feed", NOW - 2 * DAY, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(1.0))
    dry, wet = (bed(log) for log in ([*setups(), fed], [*setups(), fed, drawn]))
    moisture: list[float] = [one["state"]["sides"]["a"]["moisture"]["value"] for one in (dry, wet)]
    assert moisture[0] + 5.0 < moisture[1]
    ratios = [ratio(one) for one in (dry, wet)]
    assert ratios[1] < ratios[0]
    assert drawn["id"] in wet["state"]["sides"]["a"]["scraps"]["because"]["entries"]
    assert wet["last_seen"] is not None
    assert wet["last_seen"]["at"] == drawn["at"]


def bed(log: list[Raw]) -> Any:
    return plan(log, AT)["stations"][0]


def ratio(bed: Any) -> float:
    """Give the C:N of the scraps for which card is asked."""
    return float(
        next(
            one["because"]["values"]["ratio"]
            for one in bed["ration"]["add"]
            if "ratio" in one["because"]["values"]
        )
    )


def test_a_feed_tells_its_ammonia_and_its_solids_until_these_are_drawn() -> None:
    """Timmons MB, Ebeling JM: 0.092 of the protein; Drennan 1995, Chen 1997, quoted: 0.2 to 0.5 kg of solids
    per kg of feed."""
    fed = {**entry("feed", NOW - 60, station="pond", feedstock="fish_feed", amount=kg(7.0)), "id": "fed"}
    state = pond([*stocked(), fed])["state"]
    protein_kg = 7.0 * protein_share("fish_feed", read(setups())[1])
    assert 0.2 <= protein_kg / 7.0 <= 0.5
    assert state["ammonia_per_day_g"]["value"] == pytest.approx(92.0 * protein_kg / 7.0, rel=1e-5)
    solids = state["solids_expected_kg"]
    assert (solids["low"], solids["high"]) == (pytest.approx(1.4), pytest.approx(3.5))
    assert fed["id"] in solids["because"]["entries"]
    drawn = entry("solids", NOW - 30, station="pond", amount=kg(5.0), to="garden")
    assert pond([*stocked(), fed, drawn])["state"]["solids_expected_kg"]["value"] == 0.0


def test_fish_that_eat_together_get_larvae_by_the_most_careful_limit_of_theirs() -> None:
    """SARE SW06-083: trout 25 %; Carral & Saez-Royuela 2022: tench 45 %."""
    tench = entry("stocking", 10, station="pond", species="tench", number=100, mass=kg(20.0))
    trout = entry("stocking", 11, station="pond", species="trout", number=5, mass=kg(1.0))
    larvae = entry("feed", NOW, station="pond", feedstock="larvae", amount=kg(0.5))
    for fish, most in (([tench], 45.0), ([tench, trout], 25.0)):
        state = pond([*setups(), *fish, larvae, warm(14.0)])["state"]
        assert state["larvae_share_pct"]["because"]["values"]["most_pct"] == most
        assert state["larvae_swap"]["because"]["values"]["most_pct"] == most


# -- the bath -------------------------------------------------------------------------------------------


def bath(minutes: float = NOW, **fields: Any) -> Raw:
    volume = {"value": 20, "unit": "L"}
    return entry(
        "bath",
        minutes,
        station="pond",
        **{"volume": volume, "stock": "one_in_ten", "then": "killed", **fields},
    )


def test_the_bath_stays_closed_until_the_host_has_asked() -> None:
    made = pond([*setups(), bath()])
    found = made["state"]["day"]["bath"]
    assert (found["open"], found["recipe"]) == (False, None)
    assert found["because"]["key"] == "pond.bath.closed"
    assert "bath_closed" in codes(made)


@pytest.mark.parametrize("left_out", ["bath_checked", "bath_concentration"])
def test_half_of_what_must_be_recorded_opens_nothing(left_out: str) -> None:
    half = opened()
    del half["set"][left_out]
    assert pond([*setups(), half, bath()])["state"]["day"]["bath"]["open"] is False


def test_once_open_the_bath_is_arithmetic_with_both_readings_and_the_published_range() -> None:
    recipe = pond([*setups(), opened(), bath()])["state"]["day"]["bath"]["recipe"]
    assert recipe["figures"]["measure_ml"] == pytest.approx(7.619, abs=1e-3)
    assert recipe["figures"]["other_ml"] == pytest.approx(8.381, abs=1e-3)
    assert (recipe["figures"]["published_low"], recipe["figures"]["published_high"]) == (5.0, 500.0)
    assert recipe["wait"]["done"] is False
    assert "pond.caution.bath_never_back" in recipe["cautions"]


def test_one_carp_among_trout_is_enough_to_say_that_the_bath_alone_is_not_sure() -> None:
    """AVMA 2020, quoted: fish that bear little oxygen get a second, physical step after the bath."""
    caution = "pond.caution.bath_little_oxygen"
    trout = entry("stocking", 10, station="pond", species="trout", number=50, mass=kg(10.0))
    carp = entry("stocking", 11, station="pond", species="carp", number=1, mass=kg(1.0))
    for others, told in (([], False), ([carp], True)):
        recipe = pond([*setups(), opened(), trout, *others, bath()])["state"]["day"]["bath"]["recipe"]
        assert (caution in recipe["cautions"]) is told


@pytest.mark.parametrize(
    ("stopped", "second", "left", "done"),
    [
        ("2026-06-15T17:48:00+02:00", "bled", 18, False),
        ("2026-06-15T17:30:00+02:00", "none", 0, False),
        ("2026-06-15T17:30:00+02:00", "bled", 0, True),
    ],
)
def test_a_bath_waits_and_then_asks_for_a_second_step(
    stopped: str, second: str, left: int, done: bool
) -> None:
    """AVMA 2020, S6.2.1, quoted: at least 30 minutes after the last gill movement."""
    log = [*setups(), opened(), bath(gills_stopped=stopped, second_step=second)]
    wait = pond(log)["state"]["day"]["bath"]["recipe"]["wait"]
    assert (wait["left_min"], wait["done"]) == (left, done)


def test_a_bath_of_no_volume_says_so_in_words() -> None:
    nothing = bath()
    del nothing["volume"]
    found = problem(nothing)
    assert found is not None
    assert (found.code, found.field) == ("missing", "volume")
    shapeless = pond([*setups(), opened(), bath(volume=None, depth={"value": 30, "unit": "cm"})])
    recipe = shapeless["state"]["day"]["bath"]["recipe"]
    assert recipe["problem"]["key"] == "pond.bath.no_volume"


@pytest.mark.parametrize("then", ["released", "held"])
def test_fish_to_be_let_go_never_enter_the_bath(then: str) -> None:
    found = problem(bath(then=then))
    assert isinstance(found, Problem)
    assert found.code == "never"
    assert f"a fish that will be {then} never goes into this bath" in found.message


def test_a_dose_in_the_wrong_unit_is_asked_back() -> None:
    wrong = opened()
    wrong["set"]["bath_concentration"] = {"value": 40, "unit": "mL"}
    found = problem(wrong)
    assert found is not None
    assert found.code == "bad_unit"
    assert "mg is a weight of the drug in each litre of water, mL a volume" in found.message
    strong = opened()
    strong["set"]["bath_concentration"] = {"value": 500, "unit": "mg/mL"}
    found = problem(strong)
    assert found is not None
    assert found.code == "out_of_range"


@pytest.mark.parametrize("allowed", [False, True])
@pytest.mark.parametrize("noted", [{"method": "bath"}, {}])
def test_scraps_of_fish_from_a_bath_are_given_to_nothing(allowed: bool, noted: Raw) -> None:
    """Clove oil is no approved drug for food fish (US FDA, Guidance 150); an antimicrobial and insecticide,
    with no level known that larvae or worms bear (own judgement)."""
    fed = entry("feed", NOW - 5, station="bin", feedstock="bread", amount=kg(2.0))
    log = [*setups(), *([opened()] if allowed else []), fed, bath(NOW - 1)]
    day = pond([*log, caught(species="trout", scraps=kg(0.5), **noted)])["state"]["day"]
    assert [one["barred"] for one in day["taken"]] == ["bath"]
    assert day["share_out"] is None
    blow = pond([*log, caught(species="trout", scraps=kg(0.5), method="blow")])["state"]["day"]
    assert blow["share_out"]["scraps_kg"] == 0.5


def test_a_bath_noted_before_it_may_be_is_kept_without_any_arithmetic() -> None:
    made = pond([*setups(), bath(syringe={"value": 10, "unit": "mL"})])
    found = made["state"]["day"]["bath"]
    assert found == {"open": False, "because": found["because"], "recipe": None}
    assert found["because"]["values"] == {}
    told = [one for one in made["warnings"] if "bath" in one["code"]]
    assert {one["code"] for one in told} == {"bath_closed", "bath_waste"}
    assert [one["because"]["values"] for one in told] == [{}, {}]


def test_a_bath_alone_is_not_certain() -> None:
    log = [*setups(), opened(), caught(method="bath", second_step="none")]
    assert {"bath_one_step", "bath_waste"} <= set(codes(pond(log)))
