"""Yields, feed, ammonia, solids and larvae against published tables and worked examples."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core import sources
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.span import Span
from fallowside.core.water import fishtable, fishwater
from fallowside.core.water.preserving import salt_in_water_pct


def test_trout_gutted_and_skinless_as_abdollahi_found() -> None:
    """Abdollahi M, Rezaei M 2014, J Fish Sci Technol 2(4):23-34: gutted 87.56 ± 3.43 %, skinless fillet
    45.36 ± 2.37 %: of 10 kg, 8.76 kg and 4.54 kg are kept."""
    gutted = fishtable.scraps_kg("rainbow trout", "whole_gutted", 10.0)
    skinless = fishtable.scraps_kg("rainbow trout", "fillet_skin_off", 10.0)
    assert 10.0 - gutted.mid == pytest.approx(8.756, abs=1e-9)
    assert 10.0 - skinless.mid == pytest.approx(4.536, abs=1e-9)
    assert skinless.high - skinless.mid == pytest.approx(0.237, abs=1e-9)


def test_tilapia_fillets_as_souza_and_maranhao_found() -> None:
    """Souza MLR, Maranhão TCF 2001, Acta Sci Anim Sci 23:897-901: fillet 36.50 %, viscera 10.09 % of fish
    of 300 to 400 g: 12 fish of 350 g leave 2.667 kg, of which 0.424 kg are guts."""
    catch_kg = 12 * 0.350
    assert fishtable.scraps_kg("Nile tilapia", "fillet_skin_off", catch_kg).mid == pytest.approx(
        2.667, abs=1e-9
    )
    assert fishtable.scraps_kg("tilapia", "whole_gutted", catch_kg).mid == pytest.approx(0.424, abs=5e-4)


def test_perch_guts_span_from_wild_to_farmed_as_jankowska_found() -> None:
    """Jankowska B et al. 2007, Czech J Anim Sci 52(8):260-267: viscera 12.0 % farmed, 6.4 % wild."""
    found = fishtable.scraps_kg("perch", "whole_gutted", 2.0)
    assert found.low == pytest.approx(0.128)
    assert found.high == pytest.approx(0.240)


@pytest.mark.parametrize(
    ("species", "cut", "factor"),
    [
        ("tilapia", "whole_gutted", 1.2),
        ("roach", "fillet_skin_on", 2.45),
        ("roach", "fillet_skin_off", 2.45),
        ("catfish", "fillet_skin_on", 2.63),
        ("catfish", "fillet_skin_off", 3.55),
    ],
)
def test_ranges_hold_the_handbooks_conversion_factor(species: str, cut: str, factor: float) -> None:
    """Coordinating Working Party on Fishery Statistics, Handbook, indicative factors: live weight is product
    weight times 1.2 (tilapia gutted), 2.45 (other freshwater fish, fillet), 2.63 and 3.55 (catfish fillet,
    skin on and off). Scraps are the rest, to 0.1 % of the fish."""
    found = fishtable.scraps_kg(species, cut, 100.0)
    assert found.low - 0.1 <= 100.0 * (1.0 - 1.0 / factor) <= found.high + 0.1


@pytest.mark.parametrize(("celsius", "pct"), [(8.0, 2.0 / 7.0), (15.0, 0.5)])
def test_catfish_in_the_cold_eat_by_the_extension_table(celsius: float, pct: float) -> None:
    """Texas A&M AgriLife Extension: 1 % twice a week at 45 to 54 °F, every other day at 55 to 65 °F."""
    found = fishtable.ration("channel catfish", celsius, 500.0)
    assert found.pct.mid == pytest.approx(pct, abs=0.005)


def test_carp_fingerlings_get_no_more_than_fao_says() -> None:
    """FAO AFFRIS, common carp, feeding methods: not more than about 1.5 to 2 % of the biomass."""
    found = fishtable.ration("common carp", 24.0, 20.0)
    assert (found.pct.low, found.pct.high) == (1.5, 2.0)


FULTON = 1.1
"""Condition of a trout, g per cm cubed times 100; own judgement, about 1 to 1.2 in well fed fish."""
TROUT_INCHES = (4.5, 5.5, 6.5, 7.5, 8.5, 9.5, 12.0, 15.0)
"""Middle of each column of the table; the last two are open, 10 to 14 and 14 and more."""
TROUT_POUNDS = {
    45.0: (0.7, 1.0, 1.4, 1.9, 2.5, 3.1, 3.5, 5.0),
    50.0: (0.8, 1.3, 1.8, 2.3, 3.1, 3.9, 5.5, 8.0),
    55.0: (1.0, 1.5, 2.0, 2.7, 3.6, 4.3, 6.5, 9.0),
    60.0: (1.2, 1.8, 2.5, 3.2, 4.2, 5.4, 7.5, 10.0),
    65.0: (1.5, 2.2, 2.8, 3.8, 5.0, 6.2, 8.0, 11.0),
}


@pytest.mark.parametrize("fahrenheit", TROUT_POUNDS)
@pytest.mark.parametrize("column", range(len(TROUT_INCHES)))
def test_trout_eat_by_the_extension_table(fahrenheit: float, column: int) -> None:
    """North Carolina Cooperative Extension, Feeding trout in recreational ponds: daily pounds of feed per
    1000 trout by length in inches and water in °F. Trout that need not grow at their best may have half."""
    celsius = (fahrenheit - 32.0) * 5.0 / 9.0 + 0.05
    grams = FULTON / 100.0 * (2.54 * TROUT_INCHES[column]) ** 3
    pct = 100.0 * TROUT_POUNDS[fahrenheit][column] * 453.59237 / 1000.0 / grams
    found = fishtable.ration("rainbow trout", celsius, grams)
    assert found.pct.low <= pct <= found.pct.high + 0.005
    assert not found.weak


def test_trout_eat_within_the_meals_of_a_trial_of_digestion() -> None:
    """Effect of fish size, temperature and amount fed on nutrient digestibility of a pelleted diet by rainbow
    trout (abstract): meals of 0.4, 0.8 and 1.6 % of 194 g at 11 °C."""
    found = fishtable.ration("rainbow trout", 11.0, 194.0)
    assert 0.4 <= found.pct.low <= found.pct.mid <= 1.6


def test_trout_eat_little_in_winter_and_nothing_where_it_may_kill_them() -> None:
    """North Carolina Cooperative Extension: 300 trout of 14 inches get 1.5 pounds 1 to 3 times a week at
    40 °F; above 68 °F feed may cause a fish kill."""
    grams = FULTON / 100.0 * (2.54 * 14.0) ** 3
    found = fishtable.ration("trout", 5.0, grams)
    weekly = 100.0 * 1.5 * 453.59237 / 300.0 / grams
    assert found.pct.low == pytest.approx(weekly / 7.0, abs=0.006)
    assert found.pct.high == pytest.approx(3.0 * weekly / 7.0, abs=0.006)
    assert fishtable.ration("trout", 20.0, 300.0).why == "hot"


@pytest.mark.parametrize(
    ("species", "grams", "low", "high"),
    [("channel catfish", 20.0, 2.0, 5.0), ("channel catfish", 2000.0, 1.0, 2.0)],
)
def test_catfish_eat_by_their_size_as_fao_says(species: str, grams: float, low: float, high: float) -> None:
    """FAO AFFRIS, channel catfish, feeding: fingerlings 2 to 5 % of their weight a day, brood fish 1 to 2."""
    found = fishtable.ration(species, 28.0, grams)
    assert (found.pct.low, found.pct.high) == (low, high)


def test_young_tench_get_no_more_than_they_bear() -> None:
    """Does overfeeding affect tench Tinca tinca (L.) juveniles (abstract): at most 2.5 % of the biomass."""
    assert fishtable.ration("tench", 24.0, 5.0).pct.high == 2.5


def test_young_zander_and_perch_eat_what_was_tried() -> None:
    """Zakes Z et al. 2003, EJPAU 6(1), 4: zander of 25 g fed 1.2, 1.6, 2.0 % of the biomass. Perch of 12 to
    87 g (doi 10.1046/j.1365-2109.2001.00591.x) grew 1.98 % a day on 0.88 of feed per gain."""
    found = fishtable.ration("zander", 20.0, 30.0)
    assert found.pct == Span(1.2, 1.6, 2.0)
    assert found.pct.low <= 1.98 * 0.88 <= found.pct.high


def test_carp_are_not_fed_where_they_hardly_eat() -> None:
    """FAO AFFRIS, common carp, natural food and feeding habits: feeding practically stops below some 8 °C."""
    assert fishtable.ration("carp", 7.9, 500.0).why == "still"
    assert fishtable.ration("carp", 8.0, 500.0).why == "rate"


@pytest.mark.parametrize("celsius", [13.0, 20.0, 28.0])
@pytest.mark.parametrize("species", ["gudgeon", "", "golden perch", "silver perch"])
def test_fish_without_a_table_get_the_careful_range_whatever_they_weigh(species: str, celsius: float) -> None:
    """The low end of FAO AFFRIS for grown channel catfish, 1 to 2 %, and catla, 1 to 3 %; own judgement."""
    for grams in (None, 5.0, 3000.0):
        found = fishtable.ration(species, celsius, grams)
        assert found.weak
        assert found.pct.mid <= 1.0
        assert found.pct.high <= 2.0


@given(
    st.sampled_from(["trout", "carp", "tilapia", "catfish", "tench", "perch", "silver perch", "eel", "?"]),
    st.floats(0.0, 35.0),
    st.floats(1.0, 5000.0),
    st.floats(1.0, 5000.0),
)
def test_larger_fish_never_eat_a_larger_share_of_themselves(
    species: str, celsius: float, one: float, other: float
) -> None:
    small, large = (fishtable.ration(species, celsius, grams) for grams in sorted((one, other)))
    assert small.pct.mid >= large.pct.mid
    assert fishtable.ration(species, celsius, None).pct.mid <= large.pct.mid


@pytest.mark.parametrize(
    ("said", "fish"),
    [
        ("Regenbogenforelle", "trout"), ("truite arc-en-ciel", "trout"), ("Trucha  arcoíris", "trout"),
        ("ニジマス", "trout"), ("Karpfen", "carp"), ("enguia", "eel"), ("Silver-Perch", "silver_perch"),
        ("trouts", "trout"), ("perches", "perch"),
    ],
)  # fmt: skip
def test_a_fish_is_known_by_its_name_in_each_language(said: str, fish: str) -> None:
    assert fishtable.kind(said) == fish


@pytest.mark.parametrize(
    "said",
    ["pilchard", "trout cod", "golden perch", "nile perch", "carpet shark", "eelpout", "charcoal", "s"],
)
def test_a_part_of_a_name_proves_nothing(said: str) -> None:
    assert fishtable.kind(said) == "any"


def test_every_fish_that_bears_little_oxygen_says_where_that_is_said() -> None:
    rows = {row["name"]: row for row in sources.table("pond")["fish"]}
    bearing = {name for name in rows if fishtable.bears_little_oxygen(name)}
    assert bearing == {"catfish", "carp", "tench", "eel"}
    assert all(sources.table("pond")["sources"][rows[name]["oxygen"]]["cite"] for name in bearing)


def test_silver_perch_are_not_fed_where_they_do_not_grow() -> None:
    """Queensland Government: almost no growth below 12 °C."""
    assert fishtable.ration("silver perch", 11.9, 300.0).why == "still"
    assert fishtable.ration("silver perch", 24.0, 300.0).why == "rate"


@pytest.mark.parametrize(
    ("ph", "celsius", "share"), [(7.0, 20.0, 0.0039), (8.0, 20.0, 0.0381), (8.4, 30.0, 0.1678)]
)
def test_unionised_ammonia_is_that_of_the_table(ph: float, celsius: float, share: float) -> None:
    """Emerson K et al. 1975, J Fish Res Board Can 32:2379-2383, table as reprinted in a veterinary text."""
    assert fishwater.unionised_share(ph, celsius) == pytest.approx(share, abs=1e-4)


def test_ammonia_of_a_feed_is_timmons_and_ebelings() -> None:
    """Timmons MB, Ebeling JM: TAN = feed x protein x 0.092: 1.0 kg at 30 % gives 27.6 g."""
    assert fishwater.ammonia_kg(1.0, 0.30) == pytest.approx(0.0276, rel=5e-3)


def test_solids_lie_between_the_quoted_measurements() -> None:
    """Drennan 1995, Chen 1997, quoted: 0.2 to 0.5 kg of dry solids per kilogram of feed."""
    found = fishwater.solids_kg(1.0)
    assert (found.low, found.high) == (0.2, 0.5)


def test_larvae_stand_for_their_protein() -> None:
    """Rana 2015: live larvae hold 16 % protein; Janssen 2017: by N x 4.76, not 6.25. Arithmetic on them:
    30 % of the protein of 100 g of pellets at 32 % are 60 g of larvae, or 79 g corrected."""
    found = fishtable.larvae_kg(0.100, 0.32, 0.30)
    assert found.low == pytest.approx(0.060, abs=5e-4)
    assert found.high == pytest.approx(0.079, abs=5e-4)


def test_protein_of_live_larvae_by_nitrogen_is_that_measured() -> None:
    """Animals 2020, 10:682, table 1: larvae of 34.1 % dry matter hold 49.1 % protein by N x 4.73, 16.7 %
    live; Barragan-Fonseca 2017: 37 to 63 % of dry matter over studies, 20 to 44 % dry."""
    larvae = fishtable.larvae_kg(1.0, 1.0, 1.0)
    assert 100.0 / larvae.high <= 100.0 * 0.341 * 0.491 <= 100.0 / larvae.low * 1.05


def test_salt_in_the_water_of_a_fish_by_its_definition() -> None:
    """FDA Fish and Fishery Products Hazards and Controls Guidance, chapter 13, definition of water-phase
    salt: 2.5 % salt and 70 % water give 3.45 %, below 3.5."""
    assert salt_in_water_pct(2.5, 70.0) == pytest.approx(3.448, abs=1e-3)


def test_a_cut_or_a_catch_that_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(UnknownName, match="no cut of fish is called 'diced'; use one of: fillet_skin_off"):
        fishtable.scraps_kg("trout", "diced", 1.0)
    with pytest.raises(OutOfRange, match="the catch is -1 kg; give a value from 0 to 1000 kg"):
        fishtable.scraps_kg("trout", "whole_gutted", -1.0)
    with pytest.raises(OutOfRange, match="pH is 15"):
        fishwater.unionised_share(15.0, 20.0)
