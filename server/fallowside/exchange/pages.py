"""A report as one page to print, for a council, a landlord or a visitors' board.

Plain HTML with a stylesheet of its own and no script. Bars are drawn in SVG by attributes alone, since
the server's content policy forbids styles within a page; a page saved to a file carries the stylesheet
inside instead.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from html import escape
from pathlib import Path
from typing import Final

from fallowside import words
from fallowside.core.shapes import Avoided, Spread
from fallowside.exchange.report_tables import Report, out, say, stream
from fallowside.words import manners

STYLE: Final = Path(__file__).with_name("report.css")
_REPORT = "AR6"
_BAR_WIDTH, _BAR_HEIGHT = 100.0, 10.0
_DATES = ("from", "to")
_MOST_MONTHS = 14
"""More of them would not fit one sheet: then years are shown."""
_MINUS = "\N{MINUS SIGN}"


def page(report: Report, links: Mapping[str, str] | None = None) -> str:
    """Write the page.

    Args:
        report: What to say.
        links: Addresses of the stylesheet (`style`), this page (`page`) and its files (`csv`, `xlsx`) on
            a server; None for a file that stands by itself.
    """
    style = (
        f"<style>{STYLE.read_text(encoding='utf-8')}</style>"
        if links is None
        # The empty icon keeps a browser from asking for one.
        else f'<link rel="stylesheet" href="{escape(links["style"])}">\n<link rel="icon" href="data:,">'
    )
    period = say("of", name=report.name, since=report.tally["since"], until=report.tally["until"])
    return "\n".join(
        (
            f'<!doctype html>\n<html lang="{words.spoken()}">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(say('title'))}: {escape(period)}</title>",
            style,
            "</head>\n<body>\n<main>",
            *_choices(report, links),
            f"<header>\n<p>{escape(period)}</p>\n<h1>{escape(say('title'))}</h1>",
            *((f'<p class="invented">{escape(say("invented"))}</p>',) if report.invented else ()),
            "</header>",
            *_headline(report),
            '<div class="halves">',
            *_months(report),
            "<div>",
            *_streams(report),
            *_outputs(report),
            "</div>\n</div>",
            '<div class="halves">',
            *_soil(report),
            *_climate(report.tally["avoided"]),
            "</div>",
            *_counting(report),
            f"<footer><p>{escape(say('made', day=report.made_on, entries=report.entries))}</p></footer>",
            "</main>\n</body>\n</html>\n",
        )
    )


def _choices(report: Report, links: Mapping[str, str] | None) -> Iterable[str]:
    """Give what is for the screen only: another period, and the files."""
    if links is None:
        return
    ends = zip(_DATES, (report.tally["since"], report.tally["until"]), strict=True)
    fields = "".join(
        f'<label>{escape(say(name))} <input type="date" name="{name}" value="{escape(day)}" required></label>'
        for name, day in ends
    )
    files = " · ".join(f'<a href="{escape(links[one])}">{escape(say(one))}</a>' for one in ("xlsx", "csv"))
    yield f'<form class="screen" action="{escape(links["page"])}">{fields}'
    yield f"<button>{escape(say('show'))}</button><p>{files}<br>{escape(say('print_hint'))}</p></form>"


def _headline(report: Report) -> Iterable[str]:
    tally = report.tally
    net = tally["net"]
    ranged = net["low"] != net["high"]
    said = say("range", low=_whole(net["low"]), high=_whole(net["high"])) if ranged else say("exact")
    yield '<section class="headline">'
    yield f"<p><strong>{_whole(net['value'])} kg</strong> {escape(say('headline'))}</p>"
    yield f"<p>{escape(said)}. {escape(words.say(net['because']['key'], net['because']['values']))}</p>"
    for one in tally["asks"]:
        key, values = one["because"]["key"], one["because"]["values"]
        yield f'<p class="ask">{escape(say("please_check"))}: {escape(words.say(key, values))}</p>'
    yield "</section>"


def _months(report: Report) -> Iterable[str]:
    months = report.tally["months"]
    by_year = len(months) > _MOST_MONTHS
    sums: dict[str, float] = {}
    for month in months:
        name = month["month"][:4] if by_year else _month(month["month"])
        sums[name] = sums.get(name, 0.0) + month["net_kg"]
    rows = [(name, _kg(kg), kg) for name, kg in sums.items()]
    yield f"<section><h2>{escape(say('year_by_year' if by_year else 'month_by_month'))}</h2>"
    yield from _bars(rows, max(sums.values(), default=0.0))
    yield "</section>"


def _streams(report: Report) -> Iterable[str]:
    streams = sorted(report.tally["streams"], key=lambda one: (-one["net_kg"], one["stream"]))
    rows = [(stream(one["stream"]), _kg(one["net_kg"]), one["net_kg"]) for one in streams]
    yield f"<section><h2>{escape(say('what_it_was'))}</h2>"
    yield from _bars(rows, max((kg for _, _, kg in rows), default=0.0))
    yield "</section>"


def _outputs(report: Report) -> Iterable[str]:
    rows = [(out(name.removesuffix("_kg")), _kg(kg), None) for name, kg in report.tally["outputs"].items()]
    if rows:
        yield f"<section><h2>{escape(say('what_came_out'))}</h2>"
        yield from _bars(rows, 0.0)
        yield "</section>"


def _bars(rows: Sequence[tuple[str, str, float | None]], most: float) -> Iterable[str]:
    if not rows:
        yield f"<p>{escape(say('nothing'))}</p>"
        return
    yield "<table>"
    for name, text, value in rows:
        bar = "" if value is None else f"<td>{_bar(value, most)}</td>"
        yield f'<tr><th scope="row">{escape(name)}</th>{bar}<td class="number">{escape(text)}</td></tr>'
    yield "</table>"


def _bar(value: float, most: float) -> str:
    width = _BAR_WIDTH * max(0.0, value) / most if most > 0.0 else 0.0
    return (
        f'<svg viewBox="0 0 {_BAR_WIDTH:g} {_BAR_HEIGHT:g}" preserveAspectRatio="none" aria-hidden="true">'
        f'<rect width="{width:.2f}" height="{_BAR_HEIGHT:g}"/></svg>'
    )


def _soil(report: Report) -> Iterable[str]:
    nutrients = [one for one in report.tally["recovered"]["nutrients"] if one["to_soil"] is not None]
    if not nutrients:
        return
    yield f"<section><h2>{escape(say('for_soil'))}</h2><ul>"
    for one in nutrients:
        named = words.say(f"tally.nutrient.{one['nutrient']}")
        yield f"<li>{escape(say('soil_line', nutrient=named, **_rough(one['to_soil'])))}</li>"
    yield f"</ul><p>{escape(say('soil_note'))}</p></section>"


def _climate(avoided: Avoided) -> Iterable[str]:
    found = next(one for one in avoided["reports"] if one["report"] == _REPORT)
    said = [
        say("climate_line", report=_REPORT, **_rough(found["net"])),
        *(words.say(one["key"], one["values"]) for one in (avoided["because"], avoided["boundary"])),
    ]
    yield f"<section><h2>{escape(say('climate'))}</h2><p>{escape(' '.join(said))}</p></section>"


def _counting(report: Report) -> Iterable[str]:
    yield f'<section class="small"><h2>{escape(say("how_it_counts"))}</h2><ul>'
    for one in report.tally["standards"]:
        yield f"<li>{escape(words.say(one['key']))} <cite>{escape(one['cite'])}</cite></li>"
    yield "</ul></section>"


def _month(name: str) -> str:
    day = date.fromisoformat(f"{name}-01")
    return manners.month(day, words.spoken())


def _kg(value: float) -> str:
    return f"{words.shown(value)} kg"


def _whole(value: float | None) -> str:
    return words.shown(value)


def _rough(span: Spread | None) -> dict[str, str]:
    """Write a range with two digits: it is known no better."""
    return (
        {}
        if span is None
        else {end: words.shown(float(f"{kg:.2g}")).replace("-", _MINUS) for end, kg in span.items()}
    )
