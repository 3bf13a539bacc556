"""Sheets to print: a hand-over sheet of the place, and a sticker for each station.

A sticker's code is the link that opens its station on a phone; the app then answers from the phone itself,
with signal or without. Plain HTML with one stylesheet and no script, as the report's page. The parts of
a hand-over, and that whoever takes over signs what is red, follow the Health and Safety Executive's page
on human factors in shift hand-over; words and order are our own.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from html import escape
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

import segno

from fallowside import words
from fallowside.core import plan as plans
from fallowside.core.errors import FallowsideError
from fallowside.core.shapes import Job, Plan, StationPlan, Warning
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.words import manners

STYLE: Final = Path(__file__).with_name("sheets.css")
_QUIET_ZONE, _MODULE = 4, 3
"""Modules of white round a code, as ISO/IEC 18004 asks for; size of a module in the drawing."""
_RECOVERY = "q"
"""A quarter of a code may be lost to mud or a scratch."""
_RED = ("danger", "caution")
_MOST_JOBS = 6
_DAYS_AHEAD = 7
"""What falls due later is for a sheet of its day."""
_ADDRESS = re.compile(r"https?://[^\s/?#@]+(/[^\s?#]*)?")


class BadAddress(FallowsideError):
    """An address no phone's camera would open."""

    code = "bad_address"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet before it is written: its title and what stands on it."""

    title: str
    place: str
    invented: bool
    body: tuple[str, ...]


def link(url: str, station: str) -> str:
    """Give the link that opens a station in the app served at an address.

    Raises:
        BadAddress: it is no address of a web page.

    >>> link("https://farm.example/", "trough 1")
    'https://farm.example/#/station/trough%201'
    """
    if not _ADDRESS.fullmatch(url):
        raise BadAddress(f"{url!r} is no address; write it like https://farm.example:8000")
    return f"{url.rstrip('/')}/#/station/{quote(station, safe='')}"


def stickers(plan: Plan, url: str) -> Sheet:
    """Draw a sticker for each station: its name, its code, and what the code opens.

    Args:
        plan: The plan; its stations get a sticker each.
        url: The address phones reach the server at.
    """
    body = [f'<p class="hint">{_say("stickers.hint", url=url)}</p>', '<ul class="stickers">']
    for station in plan["stations"]:
        opens = link(url, station["id"])
        code = segno.make(opens, error=_RECOVERY, micro=False).svg_inline(
            scale=_MODULE, border=_QUIET_ZONE, omitsize=True, dark="#000", light="#fff", svgclass="code"
        )
        body.append(
            f"<li>{code}<h2>{escape(station['name'])}</h2><p>{_say('stickers.scan')}</p>"
            f'<p class="small"><a href="{escape(opens)}">{escape(opens)}</a></p></li>'
        )
    body.append("</ul>")
    return _sheet("stickers", plan, body)


def handover(plan: Plan, questions: Sequence[str] = ()) -> Sheet:
    """Draw the sheet that goes from one pair of hands to the next.

    Args:
        plan: The plan of the day.
        questions: What helpers asked and nobody has answered.
    """
    body = [
        f'<p class="hint">{_say("handover.hint")}</p>',
        '<dl class="who">',
        *(f"<div><dt>{_say(f'handover.{one}')}</dt><dd></dd></div>" for one in ("from", "to", "call", "day")),
        "</dl>",
    ]
    for station in plan["stations"]:
        body += _station(station, plan)
    body += _listed("handover.questions", (escape(one) for one in questions))
    body += [
        f"<section><h2>{_say('handover.safety')}</h2><ul>",
        *(f"<li>{escape(words.say(f'app.cautions.{one}'))}</li>" for one in _minded(plan)),
        "</ul></section>",
        f'<p><span class="box"></span> {_say("handover.signed")} <span class="line"></span></p>',
    ]
    return _sheet("handover", plan, body)


def page(sheet: Sheet, style: str | None = None) -> str:
    """Write a sheet as a page.

    Args:
        sheet: What to write.
        style: Address of the stylesheet on a server; None for a file that carries it inside.
    """
    css = (
        f"<style>{STYLE.read_text(encoding='utf-8')}</style>"
        if style is None
        # The empty icon keeps a browser from asking for one.
        else f'<link rel="stylesheet" href="{escape(style)}">\n<link rel="icon" href="data:,">'
    )
    title = f"{sheet.title}: {sheet.place}" if sheet.place else sheet.title
    return "\n".join(
        (
            f'<!doctype html>\n<html lang="{words.spoken()}">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>",
            css,
            f"</head>\n<body>\n<main>\n<h1>{escape(title)}</h1>",
            *((f"<p>{_say('invented')}</p>",) if sheet.invented else ()),
            *sheet.body,
            "</main>\n</body>\n</html>\n",
        )
    )


def unanswered(database: Database, at: str) -> tuple[str, ...]:
    """Read what helpers asked up to an instant and nobody has answered, oldest first."""
    entries, _ = plans.read(log.entries(database), at)
    answered = {entry.data["of"] for entry in entries if entry.kind == "answer"}
    asked = (entry for entry in entries if entry.kind == "question" and entry.id not in answered)
    return tuple(str(entry.data["text"]) for entry in asked)


def _station(station: StationPlan, plan: Plan) -> Iterable[str]:
    people = {one["id"]: one["name"] for one in plan["place"]["people"]}
    seen = station["last_seen"]
    yield f"<section><h2>{escape(station['name'])}</h2>"
    if seen is None:
        yield f"<p>{_say('handover.never_seen')}</p>"
    else:
        by = people.get(seen["by"], seen["by"])
        yield f"<p>{_say('handover.seen', at=seen['at'][:10], by=by, who='named' if by else 'other')}</p>"
    yield from (_warning(one) for one in station["warnings"] if one["level"] in _RED)
    ration = station["ration"]
    if ration is not None:
        side = _side(station, ration["side"])
        on, amount = (
            "side" if side else "all",
            words.weighed(manners.rounded(ration["kg"], ration["low"], ration["high"])),
        )
        yield f"<p><strong>{_say('handover.ration', amount=amount, side=side, on=on)}</strong></p>"
    yield '<ul class="jobs">'
    until = (date.fromisoformat(plan["at"][:10]) + timedelta(_DAYS_AHEAD)).isoformat()
    for job in [one for one in station["jobs"] if one["due"][:10] <= until][:_MOST_JOBS]:
        due = words.shown(job["due"])
        late = f" <strong>{_say('handover.late')}</strong>" if job["late"] else ""
        yield f'<li><span class="box"></span> {escape(_job(station, job))} · {escape(due)}{late}</li>'
    yield "</ul>"
    yield f'<p class="write">{_say("handover.different")}</p></section>'


def _warning(one: Warning) -> str:
    said = words.say(one["because"]["key"], one["because"]["values"])
    level = words.say(f"app.level.{one['level']}")
    return f'<p class="red"><strong>{escape(level)}</strong> {escape(said)}</p>'


def _job(station: StationPlan, job: Job) -> str:
    side = _side(station, job["side"])
    values = {**job["because"]["values"], "what": job["what"].replace("_", " "), "side": side}
    keys = (f"app.job.{job['what']}", f"job.{job['what']}", f"{station['type']}.job.{job['what']}")
    key = next((one for one in keys if one in words.catalogue()), "app.job.other")
    said = words.say(key, values)
    return f"{said} ({side})" if side and side not in said else said


def _side(station: StationPlan, side: str | None) -> str:
    if side is None:
        return ""
    named = station["state"].get(f"side_{side}_name")
    return str(named) if named else words.say(f"app.side.{side}")


def _minded(plan: Plan) -> tuple[str, ...]:
    types = {station["type"] for station in plan["stations"]}
    of_types: Mapping[str, tuple[str, ...]] = {
        "bed": ("castings_dust", "lifting"),
        "pond": ("water",),
        "hive": ("bees",),
    }
    return ("ready", "hands", "sharps", *(c for one, cs in of_types.items() if one in types for c in cs))


def _listed(title: str, lines: Iterable[str]) -> Iterable[str]:
    listed = [f"<li>{line}</li>" for line in lines]
    return [f"<section><h2>{_say(title)}</h2><ul>", *listed, "</ul></section>"] if listed else []


def _sheet(name: str, plan: Plan, body: Sequence[str]) -> Sheet:
    place = plan["place"]
    return Sheet(words.say(f"sheet.{name}.title"), place["name"], bool(place["invented"]), tuple(body))


def _say(key: str, **values: Any) -> str:
    return escape(words.say(f"sheet.{key}", values))
