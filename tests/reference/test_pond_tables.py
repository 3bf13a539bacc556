"""Yields, feed, ammonia, solids and larvae against published tables and worked examples."""

import pytest

from fallowside.core import fishtable, fishwater, sources
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.preserving import salt_in_water_pct
from fallowside.core.span import Span


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


def test_trout_eat_between_the_meals_of_the_trial() -> None:
    """Digestibility of a pelleted diet by rainbow trout: meals of 0.4, 0.8 and 1.6 % of 194 g at 11 °C."""
    assert fishtable.ration("rainbow trout", 11.0, 194.0).pct == sources_span("pond.feed_trout")
    assert sources_span("pond.feed_trout").mid == 0.8


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


def sources_span(name: str) -> Span:
    found = sources.constant(name)
    return Span(found.low, found.value, found.high)
