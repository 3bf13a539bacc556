"""Warnings of a bed: readings past their thresholds, signs seen, and what the log itself shows."""

from collections.abc import Iterable

from fallowside.core import rotation, sources, units, warned
from fallowside.core.shapes import Warning, figure
from fallowside.core.span import Span
from fallowside.core.warned import Warner
from fallowside.core.wormbed import NAMES
from fallowside.core.worms import bedcare
from fallowside.core.worms.bedahead import Setting
from fallowside.core.worms.bedcare import REMEDIES, judged
from fallowside.core.worms.bedlog import FIRST, SECOND, Log, fed_since
from fallowside.core.worms.bedpast import Past


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
            made.append(
                _warning(
                    found[1],
                    "note",
                    [],
                    [found[2]],
                    REMEDIES[found[1]],
                    NAMES[past.fed],
                    f"{found[1]}_guess",
                    temperature=figure(temperature_c),
                )
            )
    return warned.ordered(made)


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
                made.append(
                    _warning(code, level, [entry.id], [constant], REMEDIES[code], side, value=figure(value))
                )
    return made


def _signs(log: Log, today: int) -> list[Warning]:
    made = []
    known = sources.table("worms")["signs"]
    for sign, entry in sorted(log.signs.items()):
        row = known.get(sign)
        if row is None or entry.day <= today - _SIGN_DAYS or entry.us < log.all_well_us:
            continue
        checks = " ".join(row["check"])
        made.append(
            _warning(sign, row["level"], [entry.id], [], row["remedies"], entry.side or None, check=checks)
        )
    return made


def _kept(log: Log, past: Past, set_: Setting, share: Span | None) -> list[Warning]:
    """Warn of what the log shows: feed on the resting side, a rest too long, stragglers, no worms."""
    made = []
    resting = 1 - past.fed
    astray = [
        one
        for one in fed_since(log, max(past.since[resting], past.day - _SIGN_DAYS) + 1)
        if one.side == resting
    ]
    if astray and past.harvested[resting] is None and set_.resting is not None:
        ids = [one.id for one in astray]
        made.append(_warning("fed_resting", "caution", ids, [], ("feed_other_side",), NAMES[resting]))
    if set_.resting is not None and set_.rested_days > sources.value("worms.rest_longest"):
        help_ = ("count_scoops", "scrape_by_light")
        days = set_.rested_days
        made.append(_warning("long_rest", "note", [], ["rest_longest"], help_, NAMES[resting], days=days))
        if share is not None and share.high < rotation.MOVED_GOAL:
            made.append(
                _warning(
                    "stragglers",
                    "note",
                    [],
                    ["moved_goal"],
                    ("scrape_by_light", "bait"),
                    NAMES[resting],
                    share_pct=figure(100.0 * share.mid),
                )
            )
    if bedcare.hardly_any_worms(past, log):
        made.append(_warning("no_worms", "danger", [], [], ("look_for_cause",)))
    last = log.counts[-1] if log.counts else None
    if last is not None and last.paired and not any(rotation.total(scoops) for scoops in last.counts):
        scoops = len(last.counts[FIRST]) + len(last.counts[SECOND])
        made.append(_warning("none_counted", "caution", last.ids, [], ("look_for_cause",), scoops=scoops))
    return made


_NO_FEED = "bed.remedy.stop_feeding"
_warning = Warner("bed", "worms")
_FRESH_DAYS = int(sources.value("worms.reading_fresh"))
_SIGN_DAYS = int(sources.value("worms.sign_fresh"))
