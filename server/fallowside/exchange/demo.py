"""The demo: more than a year of an invented hostel on a hill, told by its people's entries.

The same day gives the same entries, to the byte; on another day the same story ends on that day.
The last round is the one of the morning before `today`, so that today's is still to be walked.
"""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from fallowside.exchange import demo_place as place
from fallowside.exchange import demo_rounds as rounds
from fallowside.exchange.demo_diary import Diary, Raw, Stay, Walk
from fallowside.exchange.demo_place import HOST, LENGTH_DAYS
from fallowside.exchange.demo_rounds import Holding
from fallowside.exchange.demo_truth import Dice, Weather, weather

SEED = 20
_SWITCHES = (331, 249, 170, 92, 12)
_ROAD_CLOSED = range(211, 216)
_PARTY, _SOUR = range(150, 153), range(140, 150)
_MISSED_SHARE = 0.09
_HOTTEST_BELIEVED_C = 79
"""A number above this the phone would not have let pass as °C."""
_EVERY_DAY_FROM = 9
"""From here on somebody walked every day, so that the last weeks tell a whole story."""


def entries(today: date, seed: int = SEED) -> list[dict[str, Any]]:
    """Write the demo's entries, in the order in which they happened.

    Args:
        today: The day the story ends on; its own round is not walked yet.
        seed: Which story.

    Returns:
        Entries as JSON objects, about seven for each day walked.
    """
    diary = Diary(today, seed)
    place.set_up(diary)
    days = [today - timedelta(days=ago) for ago in range(LENGTH_DAYS, 0, -1)]
    skies = weather(days, Dice(seed))
    house, feet, world = Dice(seed + 1), Dice(seed + 2), Dice(seed + 3)
    now = Holding()
    waiting = list(_SWITCHES)
    for ago, day, sky in zip(range(LENGTH_DAYS, 0, -1), days, skies, strict=True):
        now.kitchen.serve(_guests(day, ago, house), house)
        if ago < LENGTH_DAYS and not _nobody_walked(ago, feet):
            _walk(diary, feet, now, ago, day, sky, waiting)
        now.bed.live(sky)
        now.larvae.live(sky, world)
        now.pond.live(sky, world)
        now.hive.live(sky)
    _slips(diary)
    _arrangements(diary)
    diary.written.sort(key=lambda raw: (raw["at"], raw["id"]))
    return diary.written


def _guests(day: date, ago: int, dice: Dice) -> int:
    busy = 14 if day.month in (4, 5, 7, 8, 9, 10, 12) else 9
    party = 26 if ago in _PARTY else 0
    return busy + (5 if day.weekday() >= 4 else 0) + dice.whole(-3, 4) + party


def _nobody_walked(ago: int, dice: Dice) -> bool:
    missed = dice.chance(_MISSED_SHARE)
    return ago in _ROAD_CLOSED or (missed and ago > _EVERY_DAY_FROM)


def _walk(
    diary: Diary, dice: Dice, now: Holding, ago: int, day: date, sky: Weather, waiting: list[int]
) -> None:
    """Walk one round and write what the walker writes."""
    helpers = place.present(ago)
    who: Stay | None = dice.pick(helpers) if helpers and dice.chance(0.72) else None
    started = dice.between(6.6 * 60.0, 7.6 * 60.0)
    late = dice.between(30.0, 90.0) if dice.chance(0.06) else 0.0
    walk = Walk(diary, dice, ago, HOST, started, late=late)
    if who is not None:
        walk.by, walk.scale, walk.thermometer = who.id, who.scale, who.thermometer
    party = ago in _PARTY
    rounds.at_trough(walk, now, sky, sour=ago in _SOUR, glut=party)
    if waiting and ago <= waiting[0]:
        waiting.pop(0)
        rounds.turn(walk, now)
    rounds.at_bin(walk, now, sky, soup=ago == 2)
    if dice.chance(0.85):
        rounds.at_pond(walk, now, sky)
    if dice.chance(0.4):
        rounds.at_hive(walk, now, sky, day.isoformat()[:7])
    finished = walk.minute + dice.between(1.0, 5.0)
    diary.write(
        "round",
        ago,
        finished,
        walk.by,
        typed_later=late,
        started=diary.time(ago, started),
        finished=diary.time(ago, finished),
        passed=walk.passed,
    )


# -- mistakes, and how they were mended ----------------------------------------------------------


def _slips(diary: Diary) -> None:
    """Spoil a few entries as thumbs do, and add what mended them."""
    _misread(diary, 371, "feed", _tenfold)
    _misread(diary, 300, "feed", _other_side, station=place.TROUGH)
    _misread(diary, 268, "reading", _fahrenheit, by="sefa")
    _misread(diary, 60, "self_harvest", _tenfold_count)
    _misread(diary, 8, "feed", _tenfold)
    _twice(diary, 333)
    _twice(diary, 118)
    _taken_back_and_restored(diary, 141)


def _arrangements(diary: Diary) -> None:
    """Hand a round to somebody else, and put a reminder off."""
    diary.write("hand_over", 6, 7.0 * 60.0, "bea", note="Off to the valley.", person="kit")
    until = diary.time(_SWITCHES[-1], 0.0)[:10]
    matter = f"{place.TROUGH}:switch_sides:a"
    diary.write("snooze", _SWITCHES[-1] + 2, 18.0 * 60.0, HOST, matter=matter, until=until)


def _find(diary: Diary, ago: int, fits: Callable[[Mapping[str, Any]], bool]) -> list[Raw]:
    """Give the first fitting entry from a day on; in some stories there is none."""
    fitting = [raw for raw in diary.written if ago >= diary.ago(raw) > 1 and fits(raw)]
    return sorted(fitting, key=lambda raw: (raw["at"], raw["id"]))[:1]


def _misread(
    diary: Diary,
    ago: int,
    kind: str,
    spoil: Callable[[Raw], Raw | None],
    *,
    station: str = "",
    by: str = "",
) -> None:
    """Spoil the fields `spoil` names; a correction two hours later gives the right ones."""

    def fits(raw: Mapping[str, Any]) -> bool:
        here = raw["kind"] == kind and station in ("", raw.get("station")) and by in ("", raw["by"])
        return here and spoil(dict(raw)) is not None

    for raw in _find(diary, ago, fits):
        spoiled = spoil(raw) or {}
        right = {name: raw[name] for name in spoiled}
        raw.update(spoiled)
        diary.correct(raw, diary.ago(raw), 9.9 * 60.0, raw["by"], right)


def _tenfold(raw: Raw) -> Raw | None:
    amount = raw["amount"]
    if amount.get("unit") != "kg" or not 1.0 <= amount["value"] < 4.0:
        return None
    return {"amount": {"value": round(10.0 * amount["value"], 1), "unit": "kg"}}


def _tenfold_count(raw: Raw) -> Raw | None:
    return {"count": 10 * raw["count"]} if raw.get("count", 0) > 40 else None


def _other_side(raw: Raw) -> Raw | None:
    return {"side": {"a": "b", "b": "a"}[raw["side"]]}


def _fahrenheit(raw: Raw) -> Raw | None:
    read = raw.get("temperature", {})
    if read.get("unit") != "degF" or read["value"] > _HOTTEST_BELIEVED_C:
        return None
    return {"temperature": {"value": read["value"], "unit": "degC"}}


def _twice(diary: Diary, ago: int) -> None:
    """Save a feed twice, and take one of the two back."""
    for raw in _find(diary, ago, lambda one: one["kind"] == "feed" and one["station"] == place.TROUGH):
        day, minute = diary.ago(raw), _minute(raw) + 0.6
        fields = {name: raw[name] for name in ("feedstock", "amount")}
        double = diary.write(
            "feed", day, minute, raw["by"], station=raw["station"], side=raw["side"], **fields
        )
        diary.correct(double, day, minute + 3.0, raw["by"], None)


def _taken_back_and_restored(diary: Diary, ago: int) -> None:
    """Take an entry back by mistake, then take that back too."""
    for raw in _find(diary, ago, lambda one: one["kind"] == "self_harvest"):
        day = diary.ago(raw)
        wrong = diary.correct(raw, day, 12.0 * 60.0, raw["by"], None)
        diary.correct(wrong, day, 12.0 * 60.0 + 2.0, HOST, None)


def _minute(raw: Mapping[str, Any]) -> float:
    hours, minutes, seconds = (int(part) for part in raw["at"][11:19].split(":"))
    return 60.0 * hours + minutes + seconds / 60.0
