"""A tally, for a person at a terminal."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fallowside import words
from fallowside.core.shapes import Tally

_BAR_CELLS = 24


def show(console: Console, tally: Tally) -> None:
    """Draw a tally: the sum, its streams, its months, and what came out."""
    net = tally["net"]
    console.print(
        Text.assemble(
            (words.say("terminal.kept_out"), "label"),
            "  ",
            (f"{words.shown(net['value'])} kg", "figure"),
            (f"  {words.say('app.range_short', {'low': net['low'], 'high': net['high']})}", "note"),
            f"  {words.say('terminal.period', {'since': tally['since'], 'until': tally['until']})}",
        )
    )
    console.print(Text(words.say(net["because"]["key"], net["because"]["values"]), "note"))
    console.print()
    console.print(_streams(tally))
    if tally["months"]:
        console.print()
        console.print(_months(tally))
    if tally["outputs"]:
        console.print()
        listed = ", ".join(
            f"{_word('app.output', name).lower()} {words.shown(value)} kg"
            for name, value in tally["outputs"].items()
        )
        console.print(Text.assemble((words.say("terminal.out"), "label"), "  ", listed))
    console.print()
    console.print(Text(_climate(tally), "note"))
    for one in tally["asks"]:
        console.print(Text(words.say(one["because"]["key"], one["because"]["values"]), "caution"))
    console.print(Text(words.say("terminal.interval_note"), "note"))


def _climate(tally: Tally) -> str:
    avoided = tally["avoided"]
    newest = avoided["reports"][-1]
    values = {end: words.shown(kg) for end, kg in newest["net"].items()}
    said = words.say("tally.report.climate_line", {"report": newest["report"], **values})
    return f"{said} {words.say(avoided['boundary']['key'])}"


def _streams(tally: Tally) -> Table:
    table = _table()
    for one in tally["streams"]:
        table.add_row(
            _word("stream", one["stream"]),
            Text(f"{words.shown(one['kg'])} kg", "figure"),
            Text(words.say("app.range_short", {"low": one["low"], "high": one["high"]}), "note"),
            Text(words.say("terminal.weighed", {"kg": one["measured_kg"]}), "note"),
        )
    if tally["rejected_kg"]:
        table.add_row(
            words.say("terminal.gone_again"),
            Text(f"−{words.shown(tally['rejected_kg'])} kg", "figure"),
            "",
            "",
        )
    return table


def _months(tally: Tally) -> Table:
    table = _table()
    most = max((month["net_kg"] for month in tally["months"]), default=0.0)
    for month in tally["months"]:
        cells = round(max(month["net_kg"], 0.0) / most * _BAR_CELLS) if most > 0.0 else 0
        table.add_row(
            month["month"], Text(f"{words.shown(month['net_kg'])} kg", "figure"), Text("▪" * cells, "good")
        )
    return table


def _table() -> Table:
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column()
    table.add_column(justify="right")
    return table


def _word(room: str, name: str) -> str:
    key = f"{room}.{name}"
    return words.say(key) if key in words.catalogue() else name.replace("_", " ")
