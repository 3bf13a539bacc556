"""Where a bucket goes, for a person at a terminal."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fallowside import words
from fallowside.core.bucketshapes import Route, RouteShare
from fallowside.core.shapes import Because

_STYLE = {"station": "station", "keep": "caution", "elsewhere": "danger"}


def show(console: Console, found: Route) -> None:
    """Draw where a bucket goes: a line a share with its reason, what goes in with it, warnings."""
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column()
    table.add_column(justify="right")
    table.add_column()
    for one in found["shares"]:
        table.add_row(
            Text(_where(found, one), _STYLE[one["where"]]),
            Text(f"{words.shown(one['kg'])} kg", "figure"),
            Text.assemble(f"{_material(one['material'])}: ", (_reason(one), "note")),
        )
    for two in found["together"]:
        table.add_row(
            Text(_station(two["because"]), "station"),
            Text(f"{words.shown(two['kg'])} kg", "figure"),
            Text.assemble(f"{_material(two['material'])}: ", (_say(two["because"]), "note")),
        )
    console.print(table)
    for warning in found["warnings"]:
        console.print(Text(_say(warning["because"]), "caution"))
        for key in warning["remedies"]:
            console.print(Text(f"- {words.say(key)}", "note"))
    for key in dict.fromkeys(key for one in found["shares"] for key in one["cautions"]):
        console.print(Text(words.say(key), "note"))


def _where(found: Route, one: RouteShare) -> str:
    if one["where"] != "station":
        name = words.say(f"router.where.{one['where']}")
        until = one["until"]
        return f"{name}, {words.say('router.until', {'until': until})}" if until else name
    return words.say("router.where.side" if one["side"] else "router.where.station", _names(found, one))


def _names(found: Route, one: RouteShare) -> dict[str, str]:
    """Give station and side by their own names, where the route tells them."""
    for two in found["stations"]:
        if (two["station"], two["side"]) == (one["station"], one["side"]):
            return {"station": two["name"], "side": two["side_name"] or words.say("router.side_other", two)}
    return {"station": one["station"] or "", "side": one["side"] or ""}


def _station(because: Because) -> str:
    side = because["values"]["side"]
    return words.say("router.where.side" if side else "router.where.station", because["values"])


def _reason(one: RouteShare) -> str:
    said = _say(one["because"])
    if one["where"] == "keep" and one["until"] is None:
        return f"{said} {words.say('router.kept_open')}"
    unsuitable = one["because"]["key"] == "router.unsuitable"
    return f"{said} {words.say('router.elsewhere_how')}" if unsuitable else said


def _say(because: Because) -> str:
    return words.say(because["key"], because["values"])


def _material(name: str) -> str:
    key = f"feedstock.{name}"
    return words.say(key) if key in words.catalogue() else name
