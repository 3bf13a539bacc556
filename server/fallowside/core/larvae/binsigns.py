"""What a larvae bin asks for: warnings with remedies, thresholds for the phone, jobs, cautions on outputs.

Dark larvae leaving is the harvest; pale ones leaving is distress. Which remedy belongs to which sign
stands in `core/data/soldierfly.toml`, table `signs`, each with its source.
"""

from collections.abc import Sequence
from math import fsum

from fallowside.core import soldierfly, sources, warned
from fallowside.core.larvae import binlog, binration
from fallowside.core.larvae.binlog import Log
from fallowside.core.larvae.recruits import value
from fallowside.core.place import Place, Station
from fallowside.core.shapes import Job, Limit, Warning, because, figure, iso
from fallowside.core.warned import Level, Warner

_warning = Warner("bin", "soldierfly")
FEED_OUTLETS = frozenset({"pond", "hens", "sold", "given_away"})
"""Where larvae may end up eaten by an animal somebody else eats."""


def warnings(log: Log, place: Place, temperature_c: float | None, season: str) -> list[Warning]:
    """Give the warnings that stand today, the gravest first."""
    found = [
        *_signs_seen(log),
        *_from_temperature(log, temperature_c),
        *_from_mix(log),
        *_from_readings(log),
        *_from_outputs(log, place),
    ]
    if season == "ends":
        found.append(
            _warning(
                "season_ends",
                "note",
                [],
                ["laying_stops", "keep_low", "keep_high", "cold_half_days", "cold_half_temperature"],
                ["hold_prepupae_cool", "leave_adults"],
                half_days=value("cold_half_days"),
                half_c=value("cold_half_temperature"),
            )
        )
    return warned.ordered(found)


def _signs_seen(log: Log) -> list[Warning]:
    table = sources.table("soldierfly")["signs"]
    since = log.today - int(value("sign_days"))
    made = []
    for sign, entry in log.signs.items():
        if sign in table and entry.day > since:
            row = table[sign]
            made.append(
                _warning(
                    sign,
                    row["level"],
                    [entry.id],
                    [],
                    row["remedies"],
                    day=iso(entry.day),
                )
            )
    return made


def _from_temperature(log: Log, temperature_c: float | None) -> list[Warning]:
    entry = log.newest.get("reading.temperature")
    if (
        entry is None
        or temperature_c is None
        or entry.day <= log.today - int(value("temperature_stale_days"))
    ):
        return []
    shown = figure(temperature_c)
    if temperature_c >= value("danger"):
        return [
            _warning(
                "too_hot",
                "danger",
                [entry.id],
                ["danger"],
                ["shade_and_vent", "spread_thin", "stop_feeding"],
                temperature_c=shown,
                limit_c=value("danger"),
            )
        ]
    if soldierfly.lethal(temperature_c):
        return [
            _warning(
                "hot",
                "caution",
                [entry.id],
                ["hot"],
                ["shade_and_vent", "spread_thin"],
                temperature_c=shown,
                limit_c=value("hot"),
            )
        ]
    if temperature_c <= value("growth_stops"):
        return [
            _warning(
                "cold",
                "note",
                [entry.id],
                ["growth_stops"],
                ["insulate", "stop_feeding"],
                temperature_c=shown,
                limit_c=value("growth_stops"),
            )
        ]
    return []


def _from_mix(log: Log) -> list[Warning]:
    lately, made = binration.lately(log), []
    for animal in binration.ANIMAL:
        share = lately.share(animal)
        most = value(f"{animal}_share")
        if share > most * (1.0 + 1e-9):
            ids = [feed.id for feed in log.feeds if feed.group == animal]
            alone = share >= 1.0
            made.append(
                _warning(
                    f"too_much_{animal}",
                    "danger" if alone else "caution",
                    ids,
                    [f"{animal}_share"],
                    ["other_scraps", "bury_fish_and_meat"],
                    None,
                    f"{animal}_alone" if alone else f"{animal}_share",
                    share_pct=figure(100.0 * share),
                    most_pct=figure(100.0 * most),
                )
            )
    return made


def _from_readings(log: Log) -> list[Warning]:
    made = []
    wet = binration.wetness(log)
    moisture = log.newest.get("reading.moisture_pct") or log.newest.get("reading.squeeze")
    if wet in ("wet", "dry") and moisture is not None:
        remedies = ["drain", "dry_carbon", "fork_over"] if wet == "wet" else ["wet"]
        name = "moisture_high" if wet == "wet" else "moisture_dry"
        made.append(
            _warning(
                f"too_{wet}",
                "caution",
                [moisture.id],
                [name],
                remedies,
                limit_pct=value(name),
            )
        )
    ph = log.newest.get("reading.ph")
    if (
        ph is not None
        and ph.day > log.today - int(value("moisture_days"))
        and float(ph.data["ph"]) > value("ph_high")
    ):
        made.append(
            _warning(
                "ph_high",
                "note",
                [ph.id],
                ["ph_high"],
                ["stop_fish_and_meat", "dry_carbon"],
                ph=figure(float(ph.data["ph"])),
                limit=value("ph_high"),
            )
        )
    return made


def _from_outputs(log: Log, place: Place) -> list[Warning]:
    """Caution, and defer: larvae raised on kitchen or animal scraps are no feed until somebody checked."""
    if place.item.text("larvae_as_feed_checked"):
        return []
    year = log.today - 365
    ids = [
        one.id
        for one in log.given
        if one.day > year and one.data["what"] == "larvae" and one.data["to"] in FEED_OUTLETS
    ]
    if not ids:
        return []
    return [
        _warning(
            "not_as_feed",
            "caution",
            ids,
            [],
            ["check_feed_rules", "note_what_was_checked"],
        )
    ]


def limits(station: Station) -> list[Limit]:
    """Give the thresholds a phone applies by itself to a new reading."""
    rows: list[tuple[str, str, float | None, float | None, Level, str]] = [
        ("temperature", "degC", value("danger"), None, "danger", "too_hot"),
        ("temperature", "degC", value("hot"), None, "caution", "hot"),
        ("temperature", "degC", None, value("growth_stops"), "note", "cold"),
        ("moisture_pct", "percent", value("moisture_high"), None, "caution", "too_wet"),
        ("moisture_pct", "percent", None, value("moisture_dry"), "caution", "too_dry"),
        ("ph", "1", value("ph_high"), None, "note", "ph_high"),
    ]
    return [
        {
            "station": station.id,
            "side": None,
            "field": name,
            "unit": unit,
            "above": above,
            "below": below,
            "level": level,
            "code": code,
        }
        for name, unit, above, below, level, code in rows
    ]


def jobs(station: Station, log: Log, expects: bool, season: str) -> list[Job]:
    """Give what there is to do; ids stay the same while the matter is the same."""
    today, made = log.today, []
    temperature = log.newest.get("reading.temperature")
    due = today if temperature is None else temperature.day + int(value("temperature_stale_days"))
    made.append(
        _job(
            station,
            today,
            "take_temperature",
            due,
            [temperature.id] if temperature else [],
            ["temperature_stale_days"],
        )
    )
    if log.catches:
        due = today if log.grams_day is None else log.grams_day + int(value("fifty_stale_days"))
        fifty = [log.grams_entry] if log.grams_entry else []
        made.append(_job(station, today, "weigh_fifty", due, fifty, ["fifty_stale_days"]))
    if expects or (log.catches and log.catches[-1].day > today - int(value("catch_days"))):
        due = log.catches[-1].day + 1 if log.catches else today
        made.append(
            _job(
                station,
                today,
                "count_larvae",
                due,
                [log.catches[-1].id] if log.catches else [],
                ["catch_days"],
            )
        )
    leftover, feed = log.newest.get("leftover"), log.newest.get("feed")
    if feed is not None and (leftover is None or leftover.us < feed.us):
        made.append(
            _job(station, today, "look_at_leftovers", feed.day + 1, [feed.id], ["leftover_stale_days"])
        )
    depth = log.newest.get("reading.depth")
    if (
        depth is not None
        and log.depth_m is not None
        and binlog.depth_m(depth) > log.depth_m - 2.0 * value("room_spare")
    ):
        made.append(
            _job(
                station,
                today,
                "clear_out",
                depth.day + 1,
                [depth.id],
                ["room_spare"],
                ["bin.caution.larvae_hygiene", "bin.caution.frass_curing"],
            )
        )
    if season == "ends" and not _kept(log):
        made.append(_job(station, today, "hold_prepupae", today, [], ["keep_low", "keep_high"]))
    return made


def _kept(log: Log) -> bool:
    """Tell whether larvae were set aside for this winter."""
    since = log.today - int(value("kept_days"))
    return any(
        one.data["what"] == "larvae" and one.data["to"] == "kept" and one.day > since for one in log.given
    )


def _job(
    station: Station,
    today: int,
    what: str,
    due: int,
    entries: Sequence[str],
    constants: Sequence[str],
    cautions: Sequence[str] = (),
) -> Job:
    return {
        "id": f"{station.id}:{what}",
        "what": what,
        "station": station.id,
        "side": None,
        "due": iso(due),
        "earliest": None,
        "latest": None,
        "late": today > due,
        "because": because(f"bin.job.{what}", list(entries), [f"soldierfly.{name}" for name in constants]),
        "cautions": list(cautions),
    }


def outputs(log: Log, place: Place) -> dict[str, object]:
    """Sum a year's outputs by where they went, with their protein, and what the keeper has checked."""
    by_outlet: dict[str, float] = {}
    for one in log.given:
        if one.day > log.today - 365 and one.data["what"] == "larvae":
            amount, count = one.data.get("amount"), one.data.get("count")
            kg = (
                place.mass(amount, "larvae", one.us).kg
                if amount is not None
                else float(count or 0) * log.grams / binlog.GRAMS
            )
            by_outlet[one.data["to"]] = by_outlet.get(one.data["to"], 0.0) + kg
    protein = soldierfly.protein_kg(fsum(by_outlet.values()))
    checked = place.item.text("larvae_as_feed_checked")
    return {
        "larvae_kg_by_outlet": {key: figure(kg) for key, kg in sorted(by_outlet.items())},
        "protein_kg": {
            "value": figure(protein.mid),
            "low": figure(protein.low),
            "high": figure(protein.high),
        },
        "because": because(
            "bin.outputs.because",
            [one.id for one in log.given],
            ["soldierfly.crude_protein", "soldierfly.nitrogen_to_protein", "soldierfly.prepupa_dry_matter"],
        ),
        "feed_checked": checked or None,
        "feed_caution": None if checked else "bin.caution.not_as_feed",
    }
