"""A plan, for a person at a terminal: a block for each station, in walking order."""

from collections.abc import Iterator, Mapping

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fallowside import words
from fallowside.core.shapes import Ahead, Job, Plan, Ration, StationPlan, Warning

_MARKS: Mapping[str, str] = {"note": "·", "caution": "!", "danger": "!!"}
_JOBS_SHOWN = 6


def show(console: Console, plan: Plan) -> None:
    """Draw a plan."""
    place = plan["place"]
    day = words.shown(plan["at"][:10])
    title = Text.assemble((place["name"] or "This place", "station"), f"  {day}")
    if place["invented"]:
        title.append(f"  ({words.say('terminal.invented')})", "note")
    console.print(title)
    if not plan["stations"]:
        console.print(words.say("terminal.no_stations"))
    for station in plan["stations"]:
        console.print()
        console.print(_station(station))
    console.print()
    console.print(_foot(plan))


def _station(station: StationPlan) -> RenderableType:
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(style="label", width=6, no_wrap=True)
    table.add_column(ratio=1)
    label = words.say("terminal.today")
    if station["ration"] is not None:
        table.add_row(label, _ration(station["ration"]))
    for label, lines in (
        ("terminal.ahead", [_ahead(one) for one in station["ahead"]]),
        ("terminal.to_do", [_job(one) for one in station["jobs"][:_JOBS_SHOWN]]),
        ("terminal.care", [_warning(one) for one in station["warnings"]]),
    ):
        for index, line in enumerate(lines):
            table.add_row(words.say(label) if index == 0 else "", line)
    head = Text.assemble(("▌", _tone(station)), " ", (station["name"], "station"))
    return Group(head, Padding(table, (0, 0, 0, 2)))


def _ration(ration: Ration) -> Text:
    key = "terminal.ration_side" if ration["side"] else "terminal.ration"
    key = key if ration["kg"] > 0 else "terminal.ration_nothing"
    line = Text(words.say(key, {"kg": ration["kg"], "side": (ration["side"] or "").upper()}), "figure")
    if ration["kg"] > 0:
        line.append(f" ({words.shown(ration['low'])} to {words.shown(ration['high'])})", "note")
    limit = _word("terminal.limit", ration["limit"])
    line.append(f", {words.say('terminal.held_back_by', {'limit': limit})}")
    line.append(f"\n{_because(ration)}", "note")
    for one in ration["add"]:
        name = _word("feedstock", one["material"])
        line.append(f"\n+ {words.shown(one['kg'])} kg {name}: {_because(one)}", "note")
    return line


def _ahead(one: Ahead) -> Text:
    line = Text(_what(one["what"], one["side"]))
    line.append(": ")
    line.append(words.shown(one["due"]) if one["due"] else words.say("terminal.nothing_ahead"), "figure")
    line.append(_window(one["earliest"], one["latest"]), "note")
    amount = one.get("amount")
    if amount is not None and amount["value"] is not None:
        unit = "" if amount["unit"] in ("1", "") else f" {amount['unit']}"
        line.append(f", {words.shown(amount['value'])}{unit}")
        line.append(f" ({words.shown(amount['low'])} to {words.shown(amount['high'])})", "note")
    return line


def _job(one: Job) -> Text:
    line = Text(_what(one["what"], one["side"]))
    line.append(f": {words.shown(one['due'])}")
    line.append(_window(one["earliest"], one["latest"]), "note")
    if one["late"]:
        line.append(f"  {words.say('terminal.late')}", "late")
    for caution in one["cautions"]:
        line.append(f"\n{words.say(caution)}", "note")
    return line


def _warning(one: Warning) -> Text:
    side = f" ({words.say('terminal.side', {'side': one['side'].upper()})})" if one["side"] else ""
    line = Text(f"{_MARKS[one['level']]} {_because(one)}{side}", one["level"])
    for remedy in one["remedies"]:
        line.append(f"\n  {words.say(remedy)}", "note")
    return line


def _foot(plan: Plan) -> RenderableType:
    net = plan["tally"]["net"]
    line = Text.assemble(
        (words.say("terminal.kept_out"), "label"),
        "  ",
        (f"{words.shown(net['value'])} kg", "figure"),
        (f" ({words.shown(net['low'])} to {words.shown(net['high'])})", "note"),
        f", {words.say('terminal.since', {'since': plan['tally']['since']})}",
    )
    lines = [line, Text(" ".join(_notes(plan)), "note")]
    return Group(*lines)


def _notes(plan: Plan) -> Iterator[str]:
    yield words.say("terminal.interval_note")
    made_from = plan["made_from"]
    yield f"Made {words.say('terminal.made_from', {'entries': made_from['entries']})}."
    if made_from["set_aside"]:
        yield words.say("terminal.set_aside", {"n": len(made_from["set_aside"])}) + "."


def _because(one: Ration | Warning | Mapping[str, object]) -> str:
    because = one["because"]
    assert isinstance(because, dict)
    return words.say(because["key"], because["values"])


def _what(what: str, side: str | None) -> str:
    name = _word("terminal.what", what)
    return f"{name}, {words.say('terminal.side', {'side': side.upper()})}" if side else name


def _window(earliest: str | None, latest: str | None) -> str:
    if earliest is None and latest is None:
        return ""
    last = words.shown(latest) if latest else "later than a year"
    return f" ({words.shown(earliest)} to {last})"


def _word(room: str, name: str) -> str:
    key = f"{room}.{name}"
    return words.say(key) if key in words.catalogue() else name.replace("_", " ")


def _tone(station: StationPlan) -> str:
    levels = {one["level"] for one in station["warnings"]}
    return next((level for level in ("danger", "caution") if level in levels), "good")
