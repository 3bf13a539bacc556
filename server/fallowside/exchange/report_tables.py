"""The tables of a report, plain: a workbook, a page or a file of values is made of them."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fallowside import words
from fallowside.core import sources
from fallowside.core.accounts import ledger
from fallowside.core.accounts.ledger import Cell, Cells
from fallowside.core.place import Place
from fallowside.core.shapes import Account, Flow, Row, Spread, Tally

Held = str | float | None
"""What a cell of a table holds."""

_COUNTS: Final[Mapping[str, float]] = {"fed": 1.0, "landfilled": -1.0}
_KG: Final = "kg"


@dataclass(frozen=True, slots=True)
class Report:
    """A tally with what a reader needs to understand it.

    Attributes:
        name: Of the place.
        invented: Whether the place is made up.
        made_on: The day it was made, `YYYY-MM-DD`.
        entries: How many entries it was made from.
        tally: The figures.
        cells: The finest rows of the ledger.
        stations, people, feedstocks: Names by id.
        place: The place itself.
    """

    name: str
    invented: bool
    made_on: str
    entries: int
    tally: Tally
    cells: Cells
    stations: Mapping[str, str]
    people: Mapping[str, str]
    feedstocks: Mapping[str, str]
    place: Place


@dataclass(frozen=True, slots=True)
class Table:
    """A table: a name, headings with the unit of numbers ('' for text), rows, and notes below."""

    key: str
    head: Sequence[tuple[str, str]]
    rows: Sequence[Sequence[Held]]
    notes: Sequence[str] = ()


def tables(report: Report) -> list[Table]:
    """Lay the whole report out, in the order in which it is read."""
    return [
        summary_table(report),
        months_table(report),
        _groups(
            "streams", report.tally["streams"], [stream(one["stream"]) for one in report.tally["streams"]]
        ),
        _groups("stations", report.tally["by_station"], _names(report.tally["by_station"], report.stations)),
        _groups("people", report.tally["by_person"], _names(report.tally["by_person"], report.people)),
        outputs_table(report),
        nutrients_table(report),
        avoided_table(report),
        balance_table(report),
        ledger_table(report),
        sources_table(),
    ]


def summary_table(report: Report) -> Table:
    """Give the figures that matter, each on a row with its range."""
    tally = report.tally
    net, estimated, dry = tally["net"], tally["estimated"], tally["dry"]
    rows: list[list[Held]] = [
        [say("kept_out"), net["value"], net["low"], net["high"], _KG],
        [say("brought"), tally["gross_kg"], None, None, _KG],
        [say("to_landfill"), tally["rejected_kg"], None, None, _KG],
        [say("weighed"), tally["measured_kg"], None, None, _KG],
        [say("estimated"), estimated["mid"], estimated["low"], estimated["high"], _KG],
        [say("dry"), dry["mid"], dry["low"], dry["high"], _KG],
        [say("kept_pct"), tally["kept_pct"], None, None, "%"],
        [say("elsewhere"), tally["elsewhere_kg"], None, None, _KG],
    ]
    rows += [[f"{say('not_counted')}: {stream(name)}", kg, None, None, _KG]
             for name, kg in tally["not_counted_kg"].items()]  # fmt: skip
    rows += [[f"{say('rejected_apart')}: {stream(name)}", kg, None, None, _KG]
             for name, kg in tally["rejected_apart_kg"].items()]  # fmt: skip
    rows += [[f"{words.say(one['key'])} ({one['cite']})", one["kg"], None, None, _KG]
             for one in tally["standards"]]  # fmt: skip
    head = [
        (say("figure"), ""),
        (say("value"), "1"),
        (say("low"), "1"),
        (say("high"), "1"),
        (say("unit"), ""),
    ]
    return Table("summary", head, rows, notes(report))


def notes(report: Report) -> list[str]:
    """Give the sentences that belong beside the figures."""
    tally = report.tally
    found = [
        words.say(tally["net"]["because"]["key"], tally["net"]["because"]["values"]),
        words.say("tally.range_note"),
        words.say("tally.avoided_boundary"),
    ]
    found += [words.say(one["because"]["key"], one["because"]["values"]) for one in tally["asks"]]
    return found


def months_table(report: Report) -> Table:
    """Give a row a month: streams, what left for landfill, the net with its range, and outputs."""
    months = report.tally["months"]
    streams = sorted({name for month in months for name in month["streams"]})
    outputs = sorted({name for month in months for name in month["outputs"]})
    head = [
        (say("month"), ""),
        *((stream(name), _KG) for name in streams),
        (say("to_landfill"), _KG),
        (say("net"), _KG),
        (say("low"), _KG),
        (say("high"), _KG),
        (say("weighed"), _KG),
        (say("dry"), _KG),
        *((out(name.removesuffix("_kg")), _KG) for name in outputs),
    ]
    rows: list[list[str | float | None]] = [
        [
            month["month"],
            *(month["streams"].get(name, 0.0) for name in streams),
            month["rejected_kg"],
            month["net_kg"],
            month["low"],
            month["high"],
            month["measured_kg"],
            month["dry_kg"],
            *(month["outputs"].get(name, 0.0) for name in outputs),
        ]
        for month in months
    ]
    return Table("months", head, rows)


def _groups(key: str, shown: Sequence[Row], names: Sequence[str]) -> Table:
    head = [
        (say(f"{key}_name"), ""),
        (say("brought"), _KG),
        (say("low"), _KG),
        (say("high"), _KG),
        (say("weighed"), _KG),
        (say("estimated"), _KG),
        (say("dry"), _KG),
        (say("to_landfill"), _KG),
        (say("net"), _KG),
    ]
    rows: list[list[str | float | None]] = [
        [
            name,
            one["kg"],
            one["low"],
            one["high"],
            one["measured_kg"],
            one["estimated_kg"],
            one["dry_kg"],
            one["rejected_kg"],
            one["net_kg"],
        ]
        for name, one in zip(names, shown, strict=True)
    ]
    return Table(key, head, rows)


def outputs_table(report: Report) -> Table:
    """Give a row for each product: wet, dry, and the nutrients it holds."""
    nutrients = ("nitrogen", "phosphorus", "potassium")
    head = [(say("product"), ""), (say("wet"), _KG), (say("low"), _KG), (say("high"), _KG), (say("dry"), _KG)]
    for name in nutrients:
        named = words.say(f"tally.nutrient.{name}")
        head += [(named, _KG), (f"{named}, {say('low')}", _KG), (f"{named}, {say('high')}", _KG)]
    rows: list[list[Held]] = []
    for one in report.tally["recovered"]["outputs"]:
        row: list[Held] = [out(one["what"]), one["kg"], one["low"], one["high"], one["dry"]["mid"]]
        for held in (one["nitrogen"], one["phosphorus"], one["potassium"]):
            row += _mid_low_high(held)
        rows.append(row)
    return Table("outputs", head, rows)


def nutrients_table(report: Report) -> Table:
    """Give a row for each nutrient and way of reckoning it."""
    recovered = report.tally["recovered"]
    rows: list[list[Held]] = []
    for one in recovered["nutrients"]:
        name = words.say(f"tally.nutrient.{one['nutrient']}")
        ways = (
            ("fed", one["fed"]),
            ("expected", one["expected"]),
            ("soil", one["to_soil"]),
            ("oxide", one["oxide"]),
        )
        rows += [
            [name, say(f"nutrient_{way}"), *_mid_low_high(span)] for way, span in ways if span is not None
        ]
    head = [
        (say("nutrient"), ""),
        (say("way"), ""),
        (say("value"), _KG),
        (say("low"), _KG),
        (say("high"), _KG),
    ]
    because = recovered["because"]
    return Table("nutrients", head, rows, [words.say(because["key"], because["values"])])


def avoided_table(report: Report) -> Table:
    """Give avoided methane and its CO2 equivalents by each assessment report, low, middle, high."""
    avoided = report.tally["avoided"]
    rows: list[list[Held]] = [["", say("methane"), *_low_mid_high(avoided["methane_kg"])]]
    for one in avoided["reports"]:
        spans = (
            ("landfill", one["landfill"]),
            ("treatment", one["treatment"]),
            ("avoided", one["net"]),
            ("measured", one["measured"]),
            ("avoided_wet", one["net_wet"]),
        )
        rows += [[one["report"], say(name), *_low_mid_high(span)] for name, span in spans if span is not None]
    rows += [["", say("within", years=int(year)), None, kg, None] for year, kg in avoided["within"].items()]
    head = [
        (say("report"), ""),
        (say("figure"), ""),
        (say("low"), _KG),
        (say("middle"), _KG),
        (say("high"), _KG),
    ]
    said = [words.say(one["key"], one["values"]) for one in (avoided["because"], avoided["boundary"])]
    return Table("avoided", head, rows, said)


def balance_table(report: Report) -> Table:
    """Give every flow of every account: before + in = out + lost + after, in each column."""
    balance = report.tally["balance"]
    rows: list[list[Held]] = []
    for account in (balance["place"], *balance["accounts"]):
        name = account_name(account["account"], report)
        rows += [[name, side, what, *_figures(flow)] for side, what, flow in _flows(account, report)]
    head = [
        (say("account"), ""),
        (say("side"), ""),
        (say("what"), ""),
        (say("wet"), _KG),
        (say("dry"), _KG),
        (words.say("tally.nutrient.nitrogen"), _KG),
    ]
    because = balance["because"]
    return Table("balance", head, rows, [words.say(because["key"], because["values"])])


def _flows(account: Account, report: Report) -> Iterable[tuple[str, str, Flow]]:
    yield say("before"), "", account["before"]
    for flow in account["came"]:
        yield say("came"), account_name(flow["what"], report), flow
    for flow in account["left"]:
        yield say("left"), account_name(flow["what"], report), flow
    yield say("lost"), "", account["lost"]
    yield say("after"), "", account["after"]


def _figures(flow: Flow) -> list[Held]:
    return [flow["wet_kg"], flow["dry_kg"], flow["nitrogen_kg"]]


def ledger_table(report: Report) -> Table:
    """Give the finest rows: month, station, person, stream, material and what became of it."""
    head = [
        (say("month"), ""),
        (say("station"), ""),
        (say("person"), ""),
        (say("stream"), ""),
        (say("material"), ""),
        (say("what_became"), ""),
        (say("amount"), _KG),
        (say("low"), _KG),
        (say("high"), _KG),
        (say("weighed"), _KG),
        (say("estimated"), _KG),
        (say("dry"), _KG),
        (say("counts"), _KG),
    ]
    return Table("ledger", head, [_ledger_row(cell, report) for cell in sorted(report.cells)])


def _ledger_row(cell: Cell, report: Report) -> list[Held]:
    total = report.cells[cell]
    span = total.span(total.measured)
    share, _ = ledger.dry_share(report.place.material(cell.material))
    return [
        cell.month,
        report.stations.get(cell.station, cell.station),
        person(cell.person, report.people),
        stream(cell.stream),
        material(cell.material, report),
        say(f"way_{cell.way}"),
        total.kg,
        span.low,
        span.high,
        total.measured,
        total.estimated,
        total.kg * share,
        total.kg * _COUNTS.get(cell.way, 0.0),
    ]


def sources_table() -> Table:
    """Give the constants behind the figures, with what was published where."""
    rows: list[list[Held]] = [
        [one.name, one.value, one.low, one.high, one.unit, one.cite, one.where, one.confidence]
        for subject in ("tally", "avoided", "recovered", "landfill")
        for one in sources.constants(subject).values()
    ]
    head = [
        (say("constant"), ""),
        (say("value"), "1"),
        (say("low"), "1"),
        (say("high"), "1"),
        (say("unit"), ""),
        (say("source"), ""),
        (say("where"), ""),
        (say("confidence"), ""),
    ]
    return Table("sources", head, rows)


# -- words -------------------------------------------------------------------------------------------


def say(key: str, **values: object) -> str:
    """Say a word of the reports."""
    return words.say(f"tally.report.{key}", values)


def stream(name: str) -> str:
    """Name a stream, the place's own as it calls it."""
    return _first_known((f"stream.{name}", f"app.stream.{name}"), name)


def out(what: str) -> str:
    """Name a product."""
    return _first_known((f"tally.out.{what}",), what)


def material(name: str, report: Report) -> str:
    """Name a material, the place's own as it calls it."""
    return report.feedstocks.get(name) or _first_known((f"feedstock.{name}",), name)


def person(name: str, people: Mapping[str, str]) -> str:
    """Name a person, or say that nobody was named."""
    return people.get(name, name) or say("nobody")


def account_name(account: str, report: Report) -> str:
    """Name an account of the balance for people."""
    sort, _, name = account.partition(" ")
    named: Mapping[str, Callable[[], str]] = {
        "at": lambda: report.stations.get(name, name),
        "hand": lambda: say("in_hand", what=out(name)),
        "in": lambda: _first_known((f"tally.report.from_{name}", f"stream.{name}"), name),
        "out": lambda: _first_known((f"tally.report.to_{name}",), name),
    }
    return named[sort]() if sort in named else report.name


def _names(shares: Iterable[Mapping[str, object]], names: Mapping[str, str]) -> list[str]:
    return [person(str(one["id"]), names) for one in shares]


def _first_known(keys: Iterable[str], name: str) -> str:
    known = words.catalogue()
    return next((words.say(key) for key in keys if key in known), name.replace("_", " "))


def _low_mid_high(span: Spread) -> list[Held]:
    return [span["low"], span["mid"], span["high"]]


def _mid_low_high(span: Spread | None) -> list[Held]:
    return [None, None, None] if span is None else [span["mid"], span["low"], span["high"]]
