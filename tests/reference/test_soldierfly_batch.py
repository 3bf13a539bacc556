"""Feeding, indices and composition of black soldier fly larvae against published figures."""

import pytest

from fallowside.core import materials, soldierfly, sources
from fallowside.core.larvae.binration import accepts


def value(name: str) -> float:
    return sources.value(f"soldierfly.{name}")


def test_indices_of_a_published_trial_keep_the_identity() -> None:
    """Melon waste, J Environ Sci Int: reduction 81 %, bioconversion 12 %; the conversion of digested feed is
    their quotient, 14.8 %, and 69 % was lost (Waldbauer 1968)."""
    found = soldierfly.indices(100.0, 19.0, 12.0, 20.0, "dry")
    assert found.reduction_pct == pytest.approx(81.0, abs=0.1)
    assert found.digested_conversion is not None
    assert 100.0 * found.digested_conversion == pytest.approx(14.8, abs=0.1)
    assert found.lost_pct == pytest.approx(69.0, abs=0.1)


def test_feed_conversion_ratios_of_the_usual_spread() -> None:
    """Broeckx 2021, Sustainability 13:12953: 1.58 to 8.90 over side-streams; it is fed over gained."""
    for ratio in (1.58, 8.90):
        found = soldierfly.indices(ratio, 0.2 * ratio, 1.0, 10.0, "dry")
        assert found.feed_conversion_ratio == pytest.approx(ratio)


def test_true_protein_of_prepupae() -> None:
    """Spranghers 2017: 399 to 431 g/kg as N x 6.25; Janssen 2017: factor 4.76; so 303.9 to 328.2 g/kg."""
    span = soldierfly.protein_kg(2.0, 0.5)
    assert 1000.0 * span.low == pytest.approx(303.9, abs=0.5)
    assert 1000.0 * span.high == pytest.approx(328.2, abs=0.5)


def test_fish_alone_is_refused_and_fish_in_bread_accepted() -> None:
    """Nguyen 2013: rendered fish alone, almost none lived. Lopes 2020: to 15 % fish in bread works."""
    assert not accepts([("fish", 1.0)])
    assert accepts([("fish", 0.15), ("other", 0.85)])
    assert not accepts([("fish", 0.20), ("other", 0.80)])


def test_bones_neither_count_nor_dilute() -> None:
    assert not accepts([("fish", 0.5), ("inert", 9.5)])
    assert not accepts([("inert", 1.0)])


def test_the_share_of_fish_is_the_one_the_materials_carry() -> None:
    """One figure, two places: what a bucket may send to the bin, and what the bin warns of (Lopes 2020)."""
    assert materials.get("fish_guts").takes["bin"] == value("fish_share")
    assert materials.get("meat_scraps").takes["bin"] == value("meat_share")


def test_grown_larvae_of_wild_bins_weigh_within_the_published_spread() -> None:
    """Ahmad 2023, Insects 14:434: wild-laid prepupae 0.221 to 0.225 g; Meneguz 2018: from 0.094 g."""
    mass = sources.constant("soldierfly.prepupa_mass")
    assert mass.low <= 0.094 < mass.value < 0.225 <= mass.high
