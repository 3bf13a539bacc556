"""Warnings of a bed: readings past their thresholds, signs seen, and what the log itself shows."""

from collections.abc import Iterable, Mapping

from fallowside.core import bedcare, rotation, sources, units
from fallowside.core.bedahead import Setting
from fallowside.core.bedcare import REMEDIES, Level, judged
from fallowside.core.bedlog import FIRST, SECOND, Log
from fallowside.core.bedpast import Past
from fallowside.core.shapes import Because, Warning, because, figure
from fallowside.core.span import Span
from fallowside.core.wormbed import NAMES


def warnings(log: Log, past: Past, set_: Setting, temperature_c: float, share: Span | None) -> list[Warning]:
    """Give all warnings, the gravest first.

    Args:
        log: What was logged.
        past: The bed today.
        set_: Which side rests and for how long.
        temperature_c: Temperature of the feeding side today. [degC]
        share: Share on the feeding side by the last count, if one was made since the switch.
    """
    made = [*_read(log, past.day), *_signs(log, past.day), *_kept(log, past, set_, share)]
    if not any(one["code"] in ("hot", "deadly_heat", "cold", "cool") for one in made):
        found = judged("temperature", temperature_c)
        if found is not None and found[0] != "note":
            reason = because(f"bed.warn.{found[1]}_guess", [], [found[2]], temperature=figure(temperature_c))
            made.append(_warning(found[1], "note", NAMES[past.fed], reason, REMEDIES[found[1]]))
    return sorted(made, key=lambda one: (_ORDER[one["level"]], one["code"], one["side"] or ""))


def rests(warned: Iterable[Warning]) -> bool:
    """Tell whether something read or seen asks for no feed, first of all or besides."""
    return any(one["level"] != "note" and _NO_FEED in one["remedies"] for one in warned)


def _read(log: Log, today: int) -> list[Warning]:
    made = []
    for field in ("temperature", "moisture_pct", "ph", "depth"):
        for side in ("a", "b", None):
            entry = log.newest.get(f"reading.{field}.{side}" if side else f"reading.{field}")
            if entry is None or (side is None) != (not entry.side) or entry.day <= today - _FRESH_DAYS:
                continue
            raw = entry.data[field]
            plain = field in ("moisture_pct", "ph")
            value = float(raw) if plain else units.to_si(raw["value"], raw["unit"])[0]
            found = judged(field, value)
            if found is not None:
                level, code, constant = found
                reason = because(f"bed.warn.{code}", [entry.id], [constant], value=figure(value))
                made.append(_warning(code, level, side, reason, REMEDIES[code]))
    return made


def _signs(log: Log, today: int) -> list[Warning]:
    made = []
    known = sources.table("worms")["signs"]
    for sign, entry in sorted(log.signs.items()):
        row = known.get(sign)
        if row is None or entry.day <= today - _SIGN_DAYS or entry.us < log.all_well_us:
            continue
        reason = because(f"bed.warn.{sign}", [entry.id], [], check=" ".join(row["check"]))
        made.append(_warning(sign, row["level"], entry.side or None, reason, row["remedies"]))
    return made


def _kept(log: Log, past: Past, set_: Setting, share: Span | None) -> list[Warning]:
    """Warn of what the log shows: feed on the resting side, a rest too long, stragglers, no worms."""
    made = []
    resting = 1 - past.fed
    astray = [
        one
        for one in log.feeds
        if one.side == resting and one.day > max(past.since[resting], past.day - _SIGN_DAYS)
    ]
    if astray and past.harvested[resting] is None and set_.resting is not None:
        reason = because("bed.warn.fed_resting", [one.id for one in astray])
        made.append(_warning("fed_resting", "caution", NAMES[resting], reason, ("feed_other_side",)))
    if set_.resting is not None and set_.rested_days > sources.value("worms.rest_longest"):
        reason = because("bed.warn.long_rest", [], ["worms.rest_longest"], days=set_.rested_days)
        made.append(
            _warning("long_rest", "note", NAMES[resting], reason, ("count_scoops", "scrape_by_light"))
        )
        if share is not None and share.high < rotation.MOVED_GOAL:
            reason = because(
                "bed.warn.stragglers", [], ["worms.moved_goal"], share_pct=figure(100.0 * share.mid)
            )
            made.append(_warning("stragglers", "note", NAMES[resting], reason, ("scrape_by_light", "bait")))
    if bedcare.hardly_any_worms(past, log):
        made.append(_warning("no_worms", "danger", None, because("bed.warn.no_worms"), ("look_for_cause",)))
    last = log.counts[-1] if log.counts else None
    if last is not None and last.paired and not any(rotation.total(scoops) for scoops in last.counts):
        scoops = len(last.counts[FIRST]) + len(last.counts[SECOND])
        reason = because("bed.warn.none_counted", last.ids, scoops=scoops)
        made.append(_warning("none_counted", "caution", None, reason, ("look_for_cause",)))
    return made


def _warning(
    code: str, level: Level, side: str | None, reason: Because, remedies: tuple[str, ...] | list[str]
) -> Warning:
    return {
        "code": code,
        "level": level,
        "side": side,
        "because": reason,
        "remedies": [f"bed.remedy.{name}" for name in remedies],
    }


_NO_FEED = "bed.remedy.stop_feeding"
_ORDER: Mapping[str, int] = {"danger": 0, "caution": 1, "note": 2}
_FRESH_DAYS = int(sources.value("worms.reading_fresh"))
_SIGN_DAYS = int(sources.value("worms.sign_fresh"))
