"""The shapes of a plan: what `plan.plan` gives, JSON-ready. The phone's types are made from these.

Dates are `YYYY-MM-DD` in the place's own days; instants are RFC 3339. Intervals are 80 %: `earliest`,
`due`, `latest` are the 10 %, 50 % and 90 % points; null means 'not within a year'. Reasons and words
are message keys with values: a catalogue turns them into a sentence on the screen.
"""

from datetime import date
from functools import lru_cache
from typing import Literal, NotRequired, TypedDict

Value = str | float | int | bool | None

ISO_DIGITS = 6
MOST_ENTRIES = 12
"""A working names the newest entries it rests on, no more than these."""


class Because(TypedDict):
    """The working behind a figure: the sentence, the entries and the constants it rests on."""

    key: str
    values: dict[str, Value]
    entries: list[str]
    constants: list[str]


class Figure(TypedDict):
    """A number with its 80 % range, unit and working."""

    value: float | None
    low: float | None
    high: float | None
    unit: str
    because: Because


class Addition(TypedDict):
    """Something to put in together with the ration, and why."""

    material: str
    kg: float
    because: Because


class Ration(TypedDict):
    """What may go in today, and the limit that binds."""

    side: str | None
    kg: float
    low: float
    high: float
    limit: str
    add: list[Addition]
    because: Because


class Ahead(TypedDict):
    """What is coming, and when."""

    what: str
    side: str | None
    due: str | None
    earliest: str | None
    latest: str | None
    amount: NotRequired[Figure]
    because: Because


class Job(TypedDict):
    """Something to do. `id` stays the same while the matter is the same."""

    id: str
    what: str
    station: str
    side: str | None
    due: str
    earliest: str | None
    latest: str | None
    late: bool
    because: Because
    cautions: list[str]


class Warning(TypedDict):
    """A sign that asks for care. `remedies` are message keys, first thing first."""

    code: str
    level: Literal["note", "caution", "danger"]
    side: str | None
    because: Because
    remedies: list[str]


class Limit(TypedDict):
    """A plain threshold a phone applies by itself to a new reading (field in its SI unit)."""

    station: str
    side: str | None
    field: str
    unit: str
    above: float | None
    below: float | None
    level: Literal["note", "caution", "danger"]
    code: str


class Series(TypedDict):
    """Points for a chart; `low` and `high` bound a band, `band` is the comfortable range."""

    name: str
    side: str | None
    unit: str
    days: list[str]
    values: list[float | None]
    low: NotRequired[list[float | None]]
    high: NotRequired[list[float | None]]
    band: NotRequired[list[float]]


class Seen(TypedDict):
    """When a station was last looked after, and by whom."""

    at: str
    by: str


class StationPlan(TypedDict):
    """All that is known of one station.

    `state` holds what its kind of station tells; `last` the newest value of each field entered there,
    a starting point for the next record.
    """

    id: str
    type: str
    name: str
    order: float
    last_seen: Seen | None
    last: dict[str, object]
    state: dict[str, object]
    ration: Ration | None
    jobs: list[Job]
    ahead: list[Ahead]
    warnings: list[Warning]
    limits: list[Limit]
    series: list[Series]


class Spread(TypedDict):
    """A middle figure between the ends of its range."""

    low: float
    mid: float
    high: float


class Row(TypedDict):
    """What of something was fed, with its range, and what of it left again for landfill.

    `measured_kg` was weighed, `estimated_kg` came from containers and volumes: parts of `kg`.
    """

    kg: float
    low: float
    high: float
    measured_kg: float
    estimated_kg: float
    dry_kg: float
    rejected_kg: float
    net_kg: float


class Stream(Row):
    """One stream of scraps."""

    stream: str


class Share(Row):
    """What one station got, or one person fed; an `id` of '' is nobody named."""

    id: str


class Month(TypedDict):
    """One month of the tally, `YYYY-MM`. `net_kg` = sum of streams − `rejected_kg`, and may be below 0."""

    month: str
    streams: dict[str, float]
    rejected_kg: float
    net_kg: float
    low: float
    high: float
    measured_kg: float
    estimated_kg: float
    dry_kg: float
    outputs: dict[str, float]


class AvoidedReport(TypedDict):
    """Avoided by one assessment report's warming potentials, kg of CO2 equivalent.

    `net` = `landfill` − `treatment`, ends set against each other. `measured` is the treatment by what was
    measured on worm bins and larvae, null where a bed has no area set; `net_wet` the net by the IPCC's
    wet weights.
    """

    report: str
    landfill: Spread
    treatment: Spread
    net: Spread
    measured: Spread | None
    net_wet: Spread


class Avoided(TypedDict):
    """Methane a landfill would have made, less what was emitted here; two digits, for it knows no more.

    `climate` and `landfill_gas` are null where the place has not set them: the range spans all cases.
    `within` is methane avoided up to each year after the deposit: part of `methane_kg`, never added to it.
    """

    climate: str | None
    landfill_gas: str | None
    methane_kg: Spread
    within: dict[str, float]
    reports: list[AvoidedReport]
    because: Because
    boundary: Because


class Output(TypedDict):
    """One product taken out: wet and dry mass and nutrients it holds; null where nobody knows."""

    what: str
    kg: float
    low: float
    high: float
    measured_kg: float
    dry: Spread
    nitrogen: Spread | None
    phosphorus: Spread | None
    potassium: Spread | None


class Nutrient(TypedDict):
    """One nutrient, kg of the element: fed, expected to stay, and taken out to soil; `oxide` as sacks say.

    `unknown_dry_kg` is dry matter fed of which nobody has said what it holds.
    """

    nutrient: str
    fed: Spread | None
    expected: Spread | None
    to_soil: Spread | None
    oxide: Spread | None
    unknown_dry_kg: float


class Recovered(TypedDict):
    """What came out of the stations, and the nutrients of it that soil gets."""

    outputs: list[Output]
    nutrients: list[Nutrient]
    because: Because


class Flow(TypedDict):
    """Wet mass, dry mass and nitrogen of one thing that moved or lies somewhere, unrounded."""

    what: str
    wet_kg: float
    dry_kg: float
    nitrogen_kg: float


class Account(TypedDict):
    """A station (`at bed`), a product in hand (`hand larvae`) or the place, over a period.

    before + came = left + lost + after, for each of the three figures.
    """

    account: str
    came: list[Flow]
    left: list[Flow]
    lost: Flow
    before: Flow
    after: Flow


class Balance(TypedDict):
    """The whole place as a balance of mass and nitrogen; `open_kg` is the largest gap of any account."""

    place: Account
    accounts: list[Account]
    open_kg: float
    because: Because


class CircleFlow(TypedDict):
    """What moved or lies somewhere, unrounded; protein is null where it is not told."""

    wet_kg: float
    dry_kg: float
    nitrogen_kg: float
    protein_kg: float | None


class CircleArrow(CircleFlow):
    """What went from one place of the circle to another, and how many entries say so."""

    source: str
    target: str
    count: int
    because: Because


class CircleNode(TypedDict):
    """A place of the circle: before + came = left + after, null where nothing is stored.

    `protein_turned_kg` is the protein that came and did not leave as such.
    """

    node: str
    before: CircleFlow | None
    after: CircleFlow | None
    came: CircleFlow
    left: CircleFlow
    protein_turned_kg: float | None


class Circle(TypedDict):
    """What moved between the places in a period (both days included); `open_kg` is the largest gap."""

    since: str
    until: str
    nodes: list[CircleNode]
    arrows: list[CircleArrow]
    open_kg: float
    because: Because


class Standard(TypedDict):
    """What a published standard of measuring counts here, and words that say so."""

    id: str
    key: str
    kg: float
    cite: str


class FeedLimit(TypedDict):
    """What one feed of these streams may weigh before one asks whether it is right; null: nobody can say."""

    kg: float | None
    streams: list[str]
    because: Because


class Tally(TypedDict):
    """What was kept out of landfill, and what came out, in a period (both days included).

    `stations` and `people` give what was fed; `by_station` and `by_person` the same in full. `kept_pct`
    is the net share of what was fed; null where nothing was.
    """

    since: str
    until: str
    net: Figure
    gross_kg: float
    rejected_kg: float
    kept_pct: float | None
    measured_kg: float
    estimated: Spread
    dry: Spread
    streams: list[Stream]
    stations: dict[str, float]
    people: dict[str, float]
    by_station: list[Share]
    by_person: list[Share]
    months: list[Month]
    outputs: dict[str, float]
    not_counted_kg: dict[str, float]
    rejected_apart_kg: dict[str, float]
    elsewhere_kg: float
    avoided: Avoided
    recovered: Recovered
    balance: Balance
    standards: list[Standard]
    asks: list[Warning]
    feed_limit: FeedLimit


class PersonPlan(TypedDict):
    """Somebody of the place; hours are those of the place's own time."""

    id: str
    name: str
    role: str
    last_day: str | None
    remind_hour: int
    quiet_from_hour: int
    quiet_until_hour: int


class ContainerPlan(TypedDict):
    """A container amounts may be given in."""

    id: str
    name: str
    litres: float | None
    full_kg: float | None


class FeedstockPlan(TypedDict):
    """Something fed here; `takes` are the kinds of station it may go to.

    `shares` are the largest shares of a day's feed there; `kg_per_l` is null where nobody has said.
    """

    id: str
    name: str | None
    stream: str
    takes: list[str]
    shares: dict[str, float]
    moisture_pct: float
    kg_per_l: float | None
    cautions: list[str]


class PlacePlan(TypedDict):
    """The place in short."""

    name: str
    invented: bool
    time_zone: str | None
    people: list[PersonPlan]
    containers: list[ContainerPlan]
    feedstocks: list[FeedstockPlan]


class Matter(TypedDict):
    """Something to remind of. `id` stays the same while the matter is the same, whatever its date does.

    `remind` is the day somebody is reminded; `late` says that it has come. A forecast has its span; a
    routine job is reminded of when it is overdue; a limit is one that a reading crossed, or a danger.
    `since` is when the reading behind a limit was taken; `put_off_until` is the day it comes back, where
    somebody put it off.
    """

    id: str
    kind: Literal["forecast", "routine", "limit"]
    what: str
    station: str
    side: str | None
    level: Literal["note", "caution", "danger"]
    remind: str
    since: str | None
    due: str | None
    earliest: str | None
    latest: str | None
    late: bool
    put_off_until: str | None
    put_off_by: str | None
    because: Because


class RosterDay(TypedDict):
    """Who walks on a day; `handed_over` if it was handed to them, whatever the week says."""

    day: str
    people: list[str]
    handed_over: bool


class LeftStation(TypedDict):
    """A station nobody has been at today; `carried_since` is the first day a round left it out."""

    station: str
    carried_since: str | None


class Roster(TypedDict):
    """Who walks the round, seven days from today; what was seen today and what is left; who is next."""

    days: list[RosterDay]
    seen: list[str]
    left: list[LeftStation]
    next: str | None


class SetAside(TypedDict):
    """An entry the fold could not use, and why."""

    id: str
    why: str
    field: str


class MadeFrom(TypedDict):
    """Which entries and which models a plan was made from."""

    entries: int
    newest: str | None
    models: str
    newer_kinds: int
    set_aside: list[SetAside]


class ConstantPlan(TypedDict):
    """A constant some figure of the plan rests on."""

    value: float
    unit: str
    low: float
    high: float
    cite: str
    where: str
    basis: str
    confidence: str
    note: str


class Plan(TypedDict):
    """What to do, what is coming and what was achieved, from the same entries and instant the same.

    `circles` are those of the last thirty days and of the tally's year.
    """

    at: str
    place: PlacePlan
    stations: list[StationPlan]
    reminders: list[Matter]
    roster: Roster
    tally: Tally
    circles: list[Circle]
    limits: list[Limit]
    constants: dict[str, ConstantPlan]
    made_from: MadeFrom


def figure(value: float) -> float:
    """Round a figure once, at the edge of the plan, to six significant digits.

    >>> figure(1234567.8), figure(0.000123456789)
    (1234570.0, 0.000123457)
    """
    return float(f"{value:.{ISO_DIGITS}g}")


def rough(value: float) -> float:
    """Round to two digits what is known no better.

    >>> rough(1224.4), rough(-0.01234)
    (1200.0, -0.012)
    """
    return float(f"{value:.2g}")


@lru_cache(maxsize=4096)
def iso(day: int) -> str:
    """Write a proleptic ordinal as `YYYY-MM-DD`.

    >>> iso(738000)
    '2021-07-29'
    """
    return date.fromordinal(day).isoformat()


def blank(station_id: str, station_type: str, name: str, order: float) -> StationPlan:
    """Give the part of a station of which nothing is known yet."""
    return {
        "id": station_id,
        "type": station_type,
        "name": name,
        "order": order,
        "last_seen": None,
        "last": {},
        "state": {},
        "ration": None,
        "jobs": [],
        "ahead": [],
        "warnings": [],
        "limits": [],
        "series": [],
    }


def because(
    key: str, entries: list[str] | None = None, constants: list[str] | None = None, **values: Value
) -> Because:
    """Put a working together; at most the newest `MOST_ENTRIES` entries are named."""
    return {
        "key": key,
        "values": values,
        "entries": (entries or [])[-MOST_ENTRIES:],
        "constants": constants or [],
    }
