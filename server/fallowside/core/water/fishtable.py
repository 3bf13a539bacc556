"""Fish by the words people use: what cleaning leaves of them, what they eat, how much of it larvae may be.

Rows stand in `core/data/pond.toml`. A fish nobody described is `any`, with the wide ranges that hold
for it. Figures are shares of live weight, wet.
"""

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.errors import UnknownName, require
from fallowside.core.span import Span

ANY = "any"
CUTS = ("whole_gutted", "headed_gutted", "fillet_skin_on", "fillet_skin_off")

_TABLE = sources.table("pond")
MOST_KG = 1000.0
_PERCENT = 100.0
_ENDINGS = ("", "s", "es", "n", "en", "e")
"""Of more than one fish, in the languages whose names stand in the table."""

Held = Literal["rate", "still", "hot", "not_known"]


class Ration(NamedTuple):
    """What fish of one kind eat in a day.

    Attributes:
        pct: Share of their own weight, low, middle, high; zeros where they do not eat. [%/day]
        why: `rate` by the table, `still` too cold, `hot` too warm, `not_known` without a temperature.
        constants: The rows it rests on.
        weak: Whether no good table was found for such fish, so that the figure is a careful one.
    """

    pct: Span
    why: Held
    constants: tuple[str, ...]
    weak: bool = False


def kind(species: str) -> str:
    """Give the fish of the table that somebody's word means; `any` where it is none.

    A name is known whole, in any language of the table, or not at all: a part of it proves nothing.

    >>> kind("Rainbow trout"), kind("Silver Perch"), kind("Bachforellen"), kind("perch")
    ('trout', 'silver_perch', 'trout', 'perch')
    >>> kind("pilchard"), kind("golden perch"), kind("trout cod"), kind("")
    ('any', 'any', 'any', 'any')
    """
    said = _spelt(species)
    names = _names()
    return next(
        (
            names[short]
            for end in _ENDINGS
            if (short := said.removesuffix(end)) in names and said.endswith(end)
        ),
        ANY,
    )


def is_cold(name: str) -> bool:
    """Tell whether a fish of the table is one of cold water."""
    return bool(_row(name).get("cold"))


def bears_little_oxygen(name: str) -> bool:
    """Tell whether a fish lives on with little oxygen, so that no bath alone is sure to kill it.

    Of a fish nobody described it is supposed, since the caution does no harm.

    >>> [bears_little_oxygen(name) for name in ("carp", "catfish", "eel", "any", "trout")]
    [True, True, True, True, False]
    """
    return name == ANY or "oxygen" in _row(name)


def scraps_constant(name: str, cut: str) -> str:
    """Name the constant of what a cut leaves: the fish's own, else that of any fish.

    Raises:
        UnknownName: nobody described the cut; the text lists those there are.
    """
    if cut not in CUTS:
        raise UnknownName("cut of fish", cut, CUTS)
    own = f"scraps_{name}_{cut}"
    return f"pond.{own if own in sources.constants('pond') else f'scraps_{ANY}_{cut}'}"


def scraps_kg(species: str, cut: str, catch_kg: float) -> Span:
    """Give the scraps that cleaning a catch leaves.

    Args:
        species: In anybody's words.
        cut: One of `CUTS`: what is kept.
        catch_kg: Live weight of the fish. [kg], 0 to 1000

    Returns:
        Low, middle and high end of the published yields, no 80 % range. [kg]

    Raises:
        UnknownName: the cut is none of the table.
        OutOfRange: a catch below 0 or above 1000 kg.

    Source: row by row in `pond.toml`; Abdollahi & Rezaei 2014, Souza & Maranhao 2001, Jankowska 2007.

    >>> found = scraps_kg("rainbow trout", "whole_gutted", 10.0)
    >>> round(found.mid, 3)
    1.244
    """
    require("the catch", catch_kg, 0.0, MOST_KG, "kg")
    share = sources.constant(scraps_constant(kind(species), cut))
    return Span(*(catch_kg * one / _PERCENT for one in (share.low, share.value, share.high)))


def ration(species: str, temperature_c: float | None, body_g: float | None) -> Ration:
    """Give a day's feed by temperature and body weight.

    Published rows hold from a temperature and a weight up to the next; below the first row of a fish
    it hardly grows and is not fed, above its last good temperature neither. Fish without rows of their
    own get the careful ones of `any`.

    Args:
        species: In anybody's words.
        temperature_c: Of the water. [degC]; None if nobody measured.
        body_g: Weight of one fish. [g]; None counts as the largest, which eat least.

    Returns:
        Share of the fish's weight a day with its range. [%/day]

    Source: row by row in `pond.toml`; NC State Extension for trout, FAO AFFRIS for catfish and carp.

    >>> ration("channel catfish", 15.0, 400.0).pct.mid, ration("channel catfish", 28.0, 400.0).pct.mid
    (0.5, 2.5)
    >>> ration("silver perch", 9.0, 200.0).why
    'still'
    >>> found = ration("gudgeon", 24.0, 20.0)
    >>> found.pct.mid, found.weak
    (1.0, True)
    """
    name = kind(species)
    if temperature_c is None:
        return Ration(Span(0.0, 0.0, 0.0), "not_known", ())
    limit = f"pond.{_row(name).get('hot', 'hot_above')}"
    if temperature_c >= sources.value(limit):
        return Ration(Span(0.0, 0.0, 0.0), "hot", (limit,))
    rows = [row for row in _TABLE["feeding"] if row["fish"] == name]
    known = bool(rows)
    rows = rows or [row for row in _TABLE["feeding"] if row["fish"] == ANY]
    warm = [row for row in rows if row["from_c"] <= temperature_c]
    if not warm:
        return Ration(Span(0.0, 0.0, 0.0), "still", ("pond.still_below",))
    warmest = max(row["from_c"] for row in warm)
    fitting = [
        row for row in warm if row["from_c"] == warmest and (body_g is None or row["from_g"] <= body_g)
    ]
    chosen = max(fitting, key=lambda row: row["from_g"])
    rate = f"pond.{chosen['rate']}"
    found = sources.constant(rate)
    weak = not known or bool(chosen.get("weak"))
    return Ration(Span(found.low, found.value, found.high), "rate", (rate,), weak)


def larvae_constant(species: str) -> str:
    """Name the constant of how much of a fish's protein larvae may give.

    >>> larvae_constant("tench"), larvae_constant("roach")
    ('pond.larvae_share_tench', 'pond.larvae_share_any')
    """
    own = f"larvae_share_{kind(species)}"
    return f"pond.{own if own in sources.constants('pond') else f'larvae_share_{ANY}'}"


def larvae_limit(species: Iterable[str]) -> str:
    """Name the constant that holds for fish who eat together: the least of theirs.

    >>> larvae_limit(["tench", "trout"]), larvae_limit([])
    ('pond.larvae_share_trout', 'pond.larvae_share_any')
    """
    limits = sorted({larvae_constant(one) for one in species})
    return min(limits or [larvae_constant("")], key=sources.value)


def larvae_kg(feed_kg: float, feed_protein_share: float, larvae_share: float) -> Span:
    """Give the live larvae that may stand for a share of a feed's protein.

    Args:
        feed_kg: Feed as weighed. [kg], >= 0
        feed_protein_share: Protein in it. [1]
        larvae_share: Share of that protein the larvae may give. [1], 0 to 1

    Returns:
        Live larvae; the high end by protein corrected for their own nitrogen factor. [kg]

    Raises:
        OutOfRange: a share outside 0 to 1, or a feed below 0.

    Source: Rana 2015, 16 % protein live; Janssen 2017, nitrogen times 4.76, not 6.25.

    >>> found = larvae_kg(0.1, 0.32, 0.30)
    >>> round(1000 * found.low), round(1000 * found.high)
    (60, 79)
    """
    require("the feed", feed_kg, 0.0, MOST_KG, "kg")
    require("the share of protein", feed_protein_share, 0.0, 1.0, "")
    require("the share of larvae", larvae_share, 0.0, 1.0, "")
    protein = sources.value("pond.larvae_protein_live") / _PERCENT
    factor = sources.value("soldierfly.nitrogen_to_protein") / sources.value("pond.protein_factor")
    low = feed_kg * feed_protein_share * larvae_share / protein
    high = low / factor
    return Span(low, 0.5 * (low + high), high)


def _row(name: str) -> Mapping[str, Any]:
    return next((row for row in _TABLE["fish"] if row["name"] == name), {})


def _spelt(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").split())


@cache
def _names() -> Mapping[str, str]:
    return {_spelt(one): row["name"] for row in _TABLE["fish"] for one in row["names"]}
