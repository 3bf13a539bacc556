"""What each batch of waste became: from one clear-out of a larvae bin to the next.

Every batch is reckoned on the wet basis, in which it was weighed; where the moisture of the residue was
read shortly before, on the dry basis too. The two are never mixed.
"""

from bisect import bisect_right
from collections.abc import Sequence
from math import fsum
from operator import attrgetter, itemgetter
from typing import TypeVar

from fallowside.core import soldierfly
from fallowside.core.entries import Entry
from fallowside.core.errors import MixedBasis
from fallowside.core.larvae.binlog import Catch, Feed, Log
from fallowside.core.larvae.recruits import value
from fallowside.core.place import Place
from fallowside.core.shapes import because, figure, iso
from fallowside.core.soldierfly import Indices

RESIDUE = "larvae_residue"
_Timed = TypeVar("_Timed", Feed, Catch)
_US = attrgetter("us")


def batches(log: Log, place: Place) -> list[dict[str, object]]:
    """Give masses and indices of each batch, the newest last; clear-outs of one day count as one."""
    made: list[dict[str, object]] = []
    since_us, since_day = 0, log.first_day
    for days_entries in _by_day(log.clear_outs):
        last = days_entries[-1]
        made.append(_batch(log, place, days_entries, since_us, since_day))
        since_us, since_day = last.us, last.day
    return made


def under(log: Log) -> tuple[object, ...]:
    """Give what tells one look at the batches of a log that only grows from the next."""
    last = log.clear_outs[-1].us if log.clear_outs else 0
    moistures = bisect_right(log.moistures, last, key=itemgetter(0))
    rejects = bisect_right(log.rejects, last, key=itemgetter(0))
    fed, caught = (bisect_right(timed, last, key=_US) for timed in (log.feeds, log.catches))
    return len(log.clear_outs), fed, caught, rejects, moistures


def inert(log: Log) -> dict[str, object]:
    """Give the bones and shells that should still lie there: fed since the last clear-out, less rejects."""
    since_us = log.clear_outs[-1].us if log.clear_outs else 0
    fed = [feed for feed in log.feeds if feed.group == "inert" and feed.us > since_us]
    gone_kg = fsum(kg for us, kg in log.rejects if us > since_us)
    left_kg = max(0.0, fsum(feed.kg for feed in fed) - gone_kg)
    return {"kg": figure(left_kg), "because": because("bin.inert.because", [feed.id for feed in fed])}


def _by_day(entries: list[Entry]) -> list[list[Entry]]:
    grouped: list[list[Entry]] = []
    for entry in entries:
        if grouped and grouped[-1][-1].day == entry.day:
            grouped[-1].append(entry)
        else:
            grouped.append([entry])
    return grouped


def _batch(
    log: Log, place: Place, clear_outs: list[Entry], since_us: int, since_day: int
) -> dict[str, object]:
    last = clear_outs[-1]
    feeds = _between(log.feeds, since_us, last.us)
    fed_kg = fsum(feed.kg for feed in feeds)
    residue_kg = fsum(place.mass(entry.data["amount"], RESIDUE, entry.us).kg for entry in clear_outs)
    larvae_kg = fsum(catch.kg for catch in _between(log.catches, since_us, last.us))
    days = max(1, last.day - since_day)
    batch: dict[str, object] = {
        "day": iso(last.day),
        "days": days,
        "fed_kg": figure(fed_kg),
        "residue_kg": figure(residue_kg),
        "larvae_kg": figure(larvae_kg),
        "inert_fed_kg": figure(fsum(feed.kg for feed in feeds if feed.group == "inert")),
        "rejected_kg": figure(fsum(kg for us, kg in log.rejects if since_us < us <= last.us)),
        "indices": None,
        "dry_indices": None,
        "because": because(
            "bin.batch.because",
            [*(feed.id for feed in feeds[-8:]), *(entry.id for entry in clear_outs)],
            ["soldierfly.prepupa_dry_matter"],
            since=iso(since_day),
        ),
    }
    if fed_kg > 0.0:
        batch["indices"] = _shown(soldierfly.indices(fed_kg, residue_kg, larvae_kg, float(days), "wet"))
        moisture_pct = _moisture(log, last)
        if moisture_pct is not None:
            dry_kg = fsum(feed.dry_kg for feed in feeds)
            residue_dry_kg = residue_kg * (1.0 - moisture_pct / 100.0)
            larvae_dry_kg = larvae_kg * value("prepupa_dry_matter")
            batch["dry_indices"] = _dry(dry_kg, residue_dry_kg, larvae_dry_kg, float(days))
    return batch


def _between(sorted_by_time: Sequence[_Timed], since_us: int, until_us: int) -> Sequence[_Timed]:
    """Give what lies after an instant and until another, that included."""
    start = bisect_right(sorted_by_time, since_us, key=_US)
    return sorted_by_time[start : bisect_right(sorted_by_time, until_us, lo=start, key=_US)]


def _moisture(log: Log, clear_out: Entry) -> float | None:
    """Give the moisture read in the bin in the days up to a clear-out. [%]"""
    since = clear_out.day - int(value("moisture_days"))
    read = [pct for us, day, pct in log.moistures if since < day and us <= clear_out.us]
    return read[-1] if read else None


def _dry(fed_kg: float, residue_kg: float, larvae_kg: float, days: float) -> dict[str, object] | None:
    """Give the dry indices, or none where more dry matter came out than went in: a reading is off."""
    if fed_kg <= 0.0:
        return None
    try:
        return _shown(soldierfly.indices(fed_kg, residue_kg, larvae_kg, days, "dry"))
    except MixedBasis:
        return {"basis": "dry", "problem": "bin.batch.more_out_than_in"}


def _shown(found: Indices) -> dict[str, object]:
    digested, ratio = found.digested_conversion, found.feed_conversion_ratio
    return {
        "basis": found.basis,
        "reduction_pct": figure(found.reduction_pct),
        "waste_reduction_index": figure(found.waste_reduction_index),
        "bioconversion_pct": figure(found.bioconversion_pct),
        "digested_conversion": None if digested is None else figure(digested),
        "feed_conversion_ratio": None if ratio is None else figure(ratio),
        "lost_pct": figure(found.lost_pct),
    }
