"""A plan, for a person at a terminal: a block for each station, in walking order."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from rich.cells import cell_len
from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fallowside import words
from fallowside.core.shapes import Ahead, Job, Plan, Ration, StationPlan, Warning
from fallowside.words import manners

_MARKS: Mapping[str, str] = {"note": "·", "caution": "!", "danger": "!!"}
_JOBS_SHOWN = 6
_YEAR_UNSAID_DAYS = 300
"""A day nearer than this is clear without its year."""
_NEAR = {0: "terminal.day.today", 1: "terminal.day.tomorrow", -1: "terminal.day.yesterday"}


def show(console: Console, plan: Plan) -> None:
    """Draw a plan."""
    place, today = plan["place"], date.fromisoformat(plan["at"][:10])
    title = Text.assemble((place["name"] or "This place", "station"), f"  {words.shown(plan['at'][:10])}")
    if place["invented"]:
        title.append(f"  ({words.say('terminal.invented')})", "note")
    console.print(title)
    if not plan["stations"]:
        console.print(words.say("terminal.no_stations"))
    for station in plan["stations"]:
        console.print()
        console.print(_station(station, today))
    console.print()
    console.print(_foot(plan))


def _station(station: StationPlan, today: date) -> RenderableType:
    head = Text.assemble(("▌", _tone(station)), " ", (station["name"], "station"))
    blocks: list[tuple[str, list[RenderableType]]] = [
        ("terminal.today", [_ration(station["ration"], station)] if station["ration"] else []),
        ("terminal.ahead", _rows(_ahead(one, station, today) for one in station["ahead"])),
        ("terminal.to_do", _rows(_job(one, station, today) for one in station["jobs"][:_JOBS_SHOWN])),
        (
            "terminal.care",
            [
                *_shared(station, today),
                *(_warning(one, station) for one in station["warnings"]),
                *_cautions(station["jobs"][:_JOBS_SHOWN]),
            ],
        ),
    ]
    table = _grid(max(cell_len(words.say(label)) for label, _ in blocks), None)
    for label, lines in blocks:
        for index, line in enumerate(lines):
            table.add_row(Text(words.say(label) if index == 0 else "", "label"), line)
    return Group(head, Padding(table, (0, 0, 0, 2)))


def _rows(rows: Iterable[tuple[Text, Text, Text]]) -> list[RenderableType]:
    """Set what, when and how surely in columns that stand under each other in all stations."""
    drawn: list[RenderableType] = []
    for row in rows:
        grid = _grid(30, 16, None)
        grid.add_row(*row)
        drawn.append(grid)
    return drawn


def _grid(*widths: int | None) -> Table:
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False, expand=False)
    for width in widths:
        table.add_column(width=width, ratio=None if width else 1)
    return table


def _ration(ration: Ration, station: StationPlan) -> Text:
    side = _side(ration["side"], station) if ration["side"] else ""
    key = "terminal.ration_side" if side else "terminal.ration"
    kg = ration["kg"]
    key = key if kg > 0 else "terminal.ration_nothing"
    line = Text(words.say(key, {"amount": words.weighed(_told(kg, ration)), "side": side}), "figure")
    if kg > 0:
        low, high = (
            manners.weighed(_told(end, ration), words.spoken(), kg)[0]
            for end in (ration["low"], ration["high"])
        )
        line.append(f"  {words.say('app.range_short', {'low': low, 'high': high})}", "note")
    line.append(f"\n{_limit(ration)}")
    line.append(f" {_because(ration, station)}", "note")
    for one in ration["add"]:
        added = words.say("terminal.add", {"kg": one["kg"], "what": _feedstock(one["material"])})
        line.append(f"\n{added}: {_because(one, station)}", "note")
    return line


def _told(kg: float, ration: Ration) -> float:
    return manners.rounded(kg, ration["low"], ration["high"])


def _limit(ration: Ration) -> str:
    """Say what sets the limit; where nothing may go in, in words for that if there are any."""
    name = ration["limit"]
    none = f"none.{name}"
    if ration["kg"] == 0 and f"app.limit.{none}" in words.catalogue():
        name = none
    return _named("limit", name, **{**ration["because"]["values"], "limit": ration["limit"]})


def _ahead(one: Ahead, station: StationPlan, today: date) -> tuple[Text, Text, Text]:
    side = _side(one["side"], station) if one["side"] else ""
    what = Text(_named("ahead", one["what"], side=side, what=one["what"].replace("_", " ")))
    amount = one.get("amount")
    more = ""
    if amount is not None and amount["value"] is not None:
        unit = "" if amount["unit"] in ("1", "") else f" {_unit(amount['unit'])}"
        more = f"{words.shown(amount['value'])}{unit}, {_range(amount['low'], amount['high'])}"
    span = _span(one["earliest"], one["latest"], today)
    if one["what"] == "catch_fish":
        # Several may be planned for one day: each says which fish.
        more = _because(one, station)
    return what, Text(_day(one["due"], today), "figure"), Text("\n".join(filter(None, (span, more))), "note")


def _job(one: Job, station: StationPlan, today: date) -> tuple[Text, Text, Text]:
    side = f", {_side(one['side'], station)}" if one["side"] else ""
    values = {**one["because"]["values"], "what": one["what"].replace("_", " ")}
    what = Text(_named("job", one["what"], **values) + side)
    when = Text(_day(one["due"], today), "late" if one["late"] else "figure")
    if one["late"]:
        when.append(f" ({words.say('terminal.late')})")
    return what, when, Text(_span(one["earliest"], one["latest"], today), "note")


def _shared(station: StationPlan, today: date) -> Iterator[Text]:
    """Say where the scraps of a pond's day go, and how much of them is to be frozen or buried."""
    day: Any = station["state"].get("day")
    if not isinstance(day, dict) or not day["share_out"]:
        return
    shared = day["share_out"]
    then = "app.pond_day.bin_then" if day["of_day"] > today.isoformat() else "app.pond_day.bin_today"
    told = [(then, "today_kg"), ("app.pond_day.freeze", "freeze_kg"), ("app.pond_day.bury", "bury_kg")]
    amounts = (f"{words.say(key)}: {words.shown(shared[name])} kg" for key, name in told if shared[name] > 0)
    yield Text(f"· {_because(shared, station)}\n  {'; '.join(amounts)}".rstrip())


def _care(station: StationPlan) -> list[RenderableType]:
    warnings = (_warning(one, station) for one in station["warnings"])
    return [*warnings, *_cautions(station["jobs"][:_JOBS_SHOWN])]


def _warning(one: Warning, station: StationPlan) -> Text:
    side = f" ({_side(one['side'], station)})" if one["side"] else ""
    line = Text(f"{_MARKS[one['level']]} {_because(one, station)}{side}", one["level"])
    for remedy in one["remedies"]:
        line.append(f"\n  {words.say(remedy)}", "note")
    return line


def _cautions(jobs: Iterable[Job]) -> Iterator[Text]:
    """Give the cautions of all jobs, each once."""
    for caution in dict.fromkeys(caution for job in jobs for caution in job["cautions"]):
        yield Text(f"{_MARKS['note']} {words.say(caution)}", "note")


def _foot(plan: Plan) -> RenderableType:
    net, made_from = plan["tally"]["net"], plan["made_from"]
    line = Text.assemble(
        (words.say("terminal.kept_out"), "label"),
        "  ",
        (f"{words.shown(net['value'])} kg", "figure"),
        (f"  {_range(net['low'], net['high'])}", "note"),
        f"  {words.say('terminal.since', {'since': plan['tally']['since']})}",
    )
    notes = [
        words.say("terminal.interval_note"),
        words.say("terminal.made_from", {"entries": made_from["entries"]}),
    ]
    if made_from["set_aside"]:
        notes.append(words.say("terminal.set_aside", {"n": len(made_from["set_aside"])}))
    return Group(line, Text(" ".join(notes), "note"))


# -- words ---------------------------------------------------------------------------------------


def _because(one: Mapping[str, Any], station: StationPlan) -> str:
    because = one["because"]
    values = because["values"]
    side = values.get("side")
    return words.say(because["key"], {**values, "side": _side(side, station)} if side else values)


def _named(room: str, name: str, /, **values: Any) -> str:
    """Say a name by the app's word for it, or by the app's way of saying one it has no word for."""
    key = f"app.{room}.{name}"
    return words.say(key if key in words.catalogue() else f"app.{room}.other", values)


def _unit(name: str) -> str:
    key = f"app.unit.{name}"
    return words.say(key) if key in words.catalogue() else name


def _feedstock(name: str) -> str:
    key = f"feedstock.{name}"
    return words.within(words.say(key)) if key in words.catalogue() else name


def _side(side: str, station: StationPlan) -> str:
    """Say a side by the name its people gave it."""
    own = station["state"].get(f"side_{side}_name")
    return str(own) if own else words.say("terminal.side", {"side": side.upper()})


def _range(low: float | None, high: float | None) -> str:
    return words.say("app.range_short", {"low": low, "high": high})


def _span(earliest: str | None, latest: str | None, today: date) -> str:
    """Say the days between which it comes; nothing where that is one day or not known."""
    if earliest is None or earliest == latest:
        return ""
    return words.say("app.range_short", {"low": _day(earliest, today), "high": _day(latest, today)})


def _day(text: str | None, today: date) -> str:
    """Say a day as near as it is.

    >>> _day("2026-11-26", date(2026, 11, 25)), _day("2027-01-03", date(2026, 11, 25))
    ('tomorrow', '3 Jan')
    """
    if text is None:
        return words.say("terminal.day.beyond")
    day = date.fromisoformat(text)
    away = (day - today).days
    if away in _NEAR:
        return words.say(_NEAR[away])
    near = abs(away) < _YEAR_UNSAID_DAYS
    return manners.day_of_year(day, words.spoken()) if near else words.shown(text)


def _tone(station: StationPlan) -> str:
    levels = {one["level"] for one in station["warnings"]}
    return next((level for level in ("danger", "caution") if level in levels), "good")
