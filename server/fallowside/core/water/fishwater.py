"""The water fish live in: ammonia their feed makes, how much of it is poisonous, solids that settle.

Feed is eaten for growth, the rest leaves the fish: nitrogen as ammonia through the gills, the
undigested as solids. Of the ammonia only the un-ionised part is poisonous, more of it in warm water
of high pH.
"""

from fallowside.core import sources
from fallowside.core.errors import require
from fallowside.core.numeric import exp, log
from fallowside.core.span import Span

_MOST_KG = 10_000.0
_KELVIN = 273.15
_TEN = 10.0
_LN_TEN = log(_TEN)
_MG = 1e6


def ammonia_kg(feed_kg: float, protein_share: float) -> float:
    """Give the total ammonia nitrogen that a feed makes.

    Args:
        feed_kg: Feed eaten. [kg], >= 0
        protein_share: Protein in it. [1], 0 to 1

    Returns:
        Ammonia nitrogen, ionised and not. [kg]

    Raises:
        OutOfRange: a share outside 0 to 1, or a feed below 0.

    Source: Timmons & Ebeling: 0.092 of the protein, from 16 % nitrogen of which 80 % is taken up, 80 %
    of that excreted and 90 % of it as ammonia. A calculator that quotes this works with 0.128.

    >>> round(1000 * ammonia_kg(1.0, 0.30), 1)
    27.6
    """
    require("the feed", feed_kg, 0.0, _MOST_KG, "kg")
    require("the share of protein", protein_share, 0.0, 1.0, "")
    return feed_kg * protein_share * sources.value("pond.ammonia_per_protein")


def unionised_share(ph: float, temperature_c: float) -> float:
    """Give the share of the ammonia that is un-ionised, and poisonous.

    Args:
        ph: Of the water. [1], 0 to 14
        temperature_c: Of the water. [degC], 0 to 50

    Returns:
        1 / (1 + 10^(pKa - pH)), pKa = 0.09018 + 2729.92 / T. [1]

    Raises:
        OutOfRange: outside those ranges, where nobody measured.

    Source: Emerson et al. 1975, J Fish Res Board Can 32:2379-2383; fresh water.

    >>> round(unionised_share(8.0, 20.0), 4)
    0.0381
    """
    require("pH", ph, 0.0, 14.0, "")
    require("the water", temperature_c, 0.0, 50.0, "degC")
    pka = sources.value("pond.pka_constant") + sources.value("pond.pka_slope") / (temperature_c + _KELVIN)
    return 1.0 / (1.0 + exp(_LN_TEN * (pka - ph)))


def ammonia_rise_mg_per_l(ammonia: float, litres: float) -> float:
    """Give by how much a day's ammonia would raise a pond that nothing cleaned. [mg/L a day]

    Args:
        ammonia: Total ammonia nitrogen of a day. [kg]
        litres: Of the pond. [L], > 0

    Raises:
        OutOfRange: no litres: nothing can be said of no water.

    >>> round(ammonia_rise_mg_per_l(0.0276, 40_000.0), 2)
    0.69
    """
    require("the pond", litres, 1.0, 1e12, "L")
    return ammonia * _MG / litres


def solids_kg(feed_kg: float) -> Span:
    """Give the dry solids that settle of a feed; an earthen pond eats most of them itself. [kg dry]

    Raises:
        OutOfRange: a feed below 0.

    Source: Drennan 1995, Chen 1997, quoted: 0.2 to 0.5 kg per kilogram of feed.

    >>> solids_kg(2.0)
    Span(low=0.4, mid=0.7, high=1.0)
    """
    require("the feed", feed_kg, 0.0, _MOST_KG, "kg")
    share = sources.constant("pond.solids_per_feed")
    return Span(feed_kg * share.low, feed_kg * share.value, feed_kg * share.high)
