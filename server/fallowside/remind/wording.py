"""Matters in words: one line for what it is, and a few for why and when."""

from collections.abc import Mapping
from typing import Any

from fallowside import words
from fallowside.core.shapes import Matter, Plan, StationPlan


def title(matter: Matter, plan: Plan, language: str = "en") -> str:
    """Say what to do and where: `Stone trough: switch to gate end`."""
    values = {"station": _station(matter, plan)["name"], "matter": what(matter, plan, language)}
    return say("remind.title", values, language)


def what(matter: Matter, plan: Plan, language: str = "en") -> str:
    """Say what to do, as the screens of the app say it."""
    station = _station(matter, plan)
    values = _values(matter, station, language)
    name = matter["what"]
    keys = [f"app.ahead.{name}", f"app.job.{name}", f"job.{name}", f"{station['type']}.job.{name}"]
    if matter["kind"] == "limit":
        keys = [matter["because"]["key"], f"{station['type']}.warn.{name}"]
    if matter["kind"] == "routine":
        keys = [keys[1], *keys]
    known = words.catalogue("en")
    key = next((key for key in keys if key in known), "app.job.other")
    return say(key, {**values, "what": name.replace("_", " ")}, language)


def detail(matter: Matter, plan: Plan, language: str = "en") -> str:
    """Say when it is due, between which days it probably falls, and why."""
    station = _station(matter, plan)
    lines = []
    if matter["due"]:
        lines.append(say("remind.due", {"due": matter["due"]}, language))
    if matter["earliest"] and matter["latest"] and matter["earliest"] != matter["latest"]:
        span = {"earliest": matter["earliest"], "latest": matter["latest"]}
        lines.append(say("app.span.between", span, language))
    if matter["kind"] != "limit":
        lines.append(say(matter["because"]["key"], _values(matter, station, language), language))
    return "\n".join(lines)


def say(key: str, values: Mapping[str, Any], language: str) -> str:
    """Say a message in a language, or in English where that has no words for it yet."""
    return words.say(key, values, language if key in words.catalogue(language) else "en")


def _values(matter: Matter, station: StationPlan, language: str) -> Mapping[str, Any]:
    values: dict[str, Any] = {**matter["because"]["values"], "station": station["name"]}
    side = matter["side"] or values.get("side")
    if side:
        values["side"] = station["state"].get(f"side_{side}_name") or say(f"app.side.{side}", {}, language)
    return values


def _station(matter: Matter, plan: Plan) -> StationPlan:
    return next(one for one in plan["stations"] if one["id"] == matter["station"])
