"""Every entry that moves something, read once as one move from one account to another.

The tally, what was recovered and the balance of the place all read these moves, so nothing can be
counted twice: a kilogram leaves one account and arrives in one. There are four sorts: `in` (scraps of
a stream, from outside), `at` (a station), `hand` (a product taken out and not yet handed on), `out`
(gone for good). Outside is everything but the stations, the kitchen too: fish eaten are out, their
heads come back in. A feed of a product of the place (castings, residue, larvae) comes from hand, never
from outside; solids come from the pond. What is said to go to a station goes there at once and needs
no feed of its own. Water moves wet mass only. Honey was never scraps and stands apart.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from operator import attrgetter
from typing import Any, Final, Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.place import Mass, Place, weighed

Sort = Literal["in", "at", "hand", "out"]
Way = Literal["fed", "landfilled", "apart", "landfilled_apart", "elsewhere", ""]
"""How the ledger counts a move. fed and landfilled count; apart was fed and landfilled_apart left
without counting; elsewhere left a station for burial, which is no landfill; '' is none of it."""


class Account(NamedTuple):
    """Where something comes from or goes to."""

    sort: Sort
    name: str

    def __str__(self) -> str:
        """Write it as a word and a name: `hand larvae`."""
        return f"{self.sort} {self.name}"


class Route(NamedTuple):
    """What moves of one sort from one account to another have in common.

    Attributes:
        key: Station, ends, material and product in one word, which is quicker to look up by.
        station: Where they were entered.
        source, target: Where they came from and went.
        stream: How the tally sorts them.
        material: What they are made of, a feedstock.
        way: How the ledger counts them.
        product: What they take out of a station for use, or ''.
        dry_share: Dry mass of the wet, by the figures of the material.
        nitrogen_share: Nitrogen of the dry mass, by the same.
    """

    key: str
    station: str
    source: Account
    target: Account
    stream: str
    material: str
    way: Way
    product: str
    dry_share: float
    nitrogen_share: float


class Move(NamedTuple):
    """One amount on its way.

    Attributes:
        day: Local day. [ordinal]
        us, id: Instant and id of its entry; with `day` they order moves.
        month: `YYYY-MM`, as written in the entry.
        person: Who did it, '' if nobody said.
        to: Where the entry says it went, '' where it doesn't.
        mass: Wet mass with its range.
        route: What it shares with others of its sort, the very same one for most of them.
    """

    day: int
    us: int
    id: str
    month: str
    person: str
    to: str
    mass: Mass
    route: Route

    @property
    def dry_kg(self) -> float:
        """Dry mass. [kg]"""
        return self.mass.kg * self.route.dry_share

    @property
    def nitrogen_kg(self) -> float:
        """Nitrogen. [kg]"""
        return self.dry_kg * self.route.nitrogen_share


_DAY: Final = attrgetter("day")
_moved: Callable[[type[Move], tuple[Any, ...]], Move] = tuple.__new__

LANDFILL: Final = Account("out", "landfill")
_BURIAL: Final = Account("out", "burial")
_KITCHEN: Final = Account("out", "kitchen")
_DIED: Final = Account("out", "died")
_WATER: Final = Account("in", "water")
STOCK: Final = Account("in", "stock")
"""Where the fish come from that a pond begins with or is given."""

RESIDUE: Final = "residue"
"""Stream of what a bin leaves: it came of counted scraps, so its way to landfill is taken off."""

_TABLE: Final = sources.table("tally")
_NOT_COUNTED: Final = frozenset(_TABLE["streams"]["not_counted"])
_PRODUCTS: Final[Mapping[str, str]] = _TABLE["products"]
_MADE_OF: Final = {product: material for material, product in _PRODUCTS.items()}
_IN_WATER: Final = frozenset({"pond", "hive"})
_STAYS_IN_HAND: Final = frozenset({"frozen", "kept", "curing", "bed"})
_NO_USE: Final = frozenset({"landfill", "burial"})
_FISH: Final = "fish_scraps"
_GRAMS: Final = 1000.0
_FIFTY: Final = 50.0


class Book:
    """The moves of a log, kept: of a longer log of the same place only what is new is read."""

    def __init__(self) -> None:
        self._reader: _Reader | None = None
        self._last: Entry | None = None
        self._read = 0
        self._moves: list[Move] = []

    def moves(self, entries: Sequence[Entry], place: Place) -> Sequence[Move]:
        """Give the moves of entries sorted by time, themselves sorted by local day, time and id."""
        reader = self._reader
        if reader is None or not self._follows(reader, entries, place):
            reader = self._reader = _Reader(place, entries)
            self._moves, self._read = [], 0
        in_order, moves = True, self._moves
        latest = moves[-1].day if moves else 0
        for entry in entries[self._read :] if self._read else entries:
            rule = _RULES.get(entry.kind)
            move = None if rule is None else rule(reader, entry)
            if move is not None:
                in_order, latest = in_order and move.day >= latest, move.day
                moves.append(move)
        if not in_order:
            moves.sort()
        self._read, self._last = len(entries), entries[-1] if entries else None
        return moves

    def _follows(self, reader: "_Reader", entries: Sequence[Entry], place: Place) -> bool:
        """Tell whether entries begin with those read so far, and nothing new changes how those read."""
        read = self._read
        return (
            reader.place is place
            and len(entries) >= read
            and (read == 0 or entries[read - 1] is self._last)
            and not any(_fifty(entry) and entry.station not in reader.grams for entry in entries[read:])
        )


class Bookmark:
    """How far the moves of a period were read, of a list that later ones are added to."""

    def __init__(self) -> None:
        self._of: tuple[Place, int] | None = None
        self._read = 0
        self._last: Move | None = None

    def turn(
        self, moves: Sequence[Move], place: Place, since_day: int, until_day: int
    ) -> tuple[bool, Sequence[Move]]:
        """Tell whether the moves read before still lead to the rest of the period, and give the rest.

        Where they don't, the rest is all of it.
        """
        leads = self._leads(moves, place, since_day, until_day)
        start = self._read if leads else bisect_left(moves, since_day, key=_DAY)
        stop = bisect_left(moves, until_day + 1, lo=start, key=_DAY)
        self._of, self._read, self._last = (place, since_day), stop, moves[stop - 1] if stop else None
        return leads, moves[start:stop]

    def _leads(self, moves: Sequence[Move], place: Place, since_day: int, until_day: int) -> bool:
        read, last = self._read, self._last
        if last is None or self._of is None or self._of[0] is not place or self._of[1] != since_day:
            return False
        if len(moves) < read or moves[read - 1] is not last or last.day > until_day:
            return False
        return read == len(moves) or moves[read].day >= since_day


class _Reader:
    """Turns entries, in order of time, into moves."""

    def __init__(self, place: Place, entries: Iterable[Entry]) -> None:
        self.place = place
        self.grams: dict[str, float] = {}
        """Mean mass of a prepupa by bin: of the last weighing, before the first one of the first. [g]"""
        self._kinds: dict[str, tuple[str, float, float]] = {}
        self._at: dict[str, Account] = {name: Account("at", name) for name in place.stations}
        self._routes: dict[tuple[str, str], Route] = {}
        """Of everyday entries, by station and what moved: a feedstock, or two words, which none is called."""
        self._months: dict[int, str] = {}
        self._types = {name: station.type for name, station in place.stations.items()}
        self._pond = self._first("pond")
        beds = [key for key, one in place.stations.items() if one.type == "bed"]
        self._only_bed = self._at[beds[0]] if len(beds) == 1 else None
        for entry in [one for one in entries if one.kind == "self_harvest"]:
            if _fifty(entry):
                self.grams.setdefault(entry.station, self._weighed(entry))

    def _first(self, station_type: str) -> Account | None:
        return next((self._at[key] for key, one in self._types.items() if one == station_type), None)

    def feed(self, entry: Entry) -> Move:
        data = entry.data
        name = data["feedstock"]
        route = self._routes.get((entry.station, name))
        if route is None:
            route = self._routes[entry.station, name] = self._fed(entry, name)
        return self._move(entry, route, self.place.mass(data["amount"], name, entry.us))

    def _fed(self, entry: Entry, name: str) -> Route:
        stream = "feed" if self._types.get(entry.station) == "pond" else self._kind(name)[0]
        product = _PRODUCTS.get(name)
        source = Account("hand", product) if product else Account("in", stream)
        if product == "pond_solids" and self._pond is not None:
            source = self._pond
        route = self._route(entry, source, self._here(entry), name, stream)
        return route if source.sort != "at" else route._replace(way="apart")

    def water(self, entry: Entry) -> Move:
        route = self._routes.get((entry.station, "poured water"))
        if route is None:
            route = self._route(entry, _WATER, self._here(entry), "water", "water")
            self._routes[entry.station, "poured water"] = route
        return self._move(entry, route, self._litres(entry))

    def reject(self, entry: Entry) -> Move:
        name = entry.data["feedstock"]
        stream = RESIDUE if _PRODUCTS.get(name) in ("castings", "frass") else self._kind(name)[0]
        target = Account("out", entry.data["to"])
        return self._made(entry, self._here(entry), target, name, self._amount(entry, name), stream)

    def clear_out(self, entry: Entry) -> Move:
        to, name = entry.data["to"], _MADE_OF["frass"]
        target = Account("hand", "frass") if to in _STAYS_IN_HAND else Account("out", to)
        if to == "bed" and self._only_bed is not None:
            target = self._only_bed
        product = "" if to in _NO_USE else "frass"
        mass = self._amount(entry, name)
        return self._made(entry, self._here(entry), target, name, mass, RESIDUE, product)

    def castings(self, entry: Entry) -> Move:
        return self._product(entry, self._here(entry), Account("hand", "castings"), "castings")

    def self_harvest(self, entry: Entry) -> Move:
        if _fifty(entry):
            self.grams[entry.station] = self._weighed(entry)
        route = self._routes.get((entry.station, "grown larvae"))
        if route is None:
            route = self._product_route(entry, self._here(entry), Account("hand", "larvae"), "larvae")
            self._routes[entry.station, "grown larvae"] = route
        return self._move(entry, route, self._product_mass(entry, "larvae"))

    def given(self, entry: Entry) -> Move | None:
        what, to = entry.data["what"], entry.data["to"]
        if to in _STAYS_IN_HAND:
            return None
        target = self._pond if to == "pond" and self._pond is not None else Account("out", to)
        if what in ("larvae", "castings", "frass"):
            # Handed on, not fed: a feed of it has an entry of its own.
            route = self._product_route(entry, Account("hand", what), target, what)
            return self._move(entry, route._replace(way=""), self._product_mass(entry, what))
        if what in ("leachate", "pond_water") and entry.data.get("amount") is not None:
            return self._made(entry, self._here(entry), target, "water", self._litres(entry), "water")
        return None

    def solids(self, entry: Entry) -> Move:
        target = self._at.get(entry.data["to"]) or Account("out", entry.data["to"])
        return self._product(entry, self._here(entry), target, "pond_solids")

    def catch(self, entry: Entry) -> Move | None:
        fate = entry.data["fate"]
        if fate not in ("killed", "died") or entry.data.get("mass") is None:
            return None
        mass = self.place.mass(entry.data["mass"])
        if fate == "died":
            return self._made(entry, self._here(entry), _DIED, _FISH, mass, "fish")
        return self._made(entry, self._here(entry), _KITCHEN, _FISH, mass, "fish", "fish")

    def stocking(self, entry: Entry) -> Move | None:
        if entry.data.get("mass") is None:
            return None
        route = self._route(entry, STOCK, self._here(entry), _FISH, "fish")
        # Young fish are no scraps: nothing of the tally counts them.
        route = route._replace(way="", stream="pond")
        return self._move(entry, route, self.place.mass(entry.data["mass"]))

    def honey(self, entry: Entry) -> Move:
        mass = self.place.mass(entry.data["amount"], "", entry.us)
        return self._made(entry, self._here(entry), _KITCHEN, "water", mass, "honey", "honey")

    def _product(self, entry: Entry, source: Account, target: Account, product: str) -> Move:
        route = self._product_route(entry, source, target, product)
        return self._move(entry, route, self._product_mass(entry, product))

    def _product_route(self, entry: Entry, source: Account, target: Account, product: str) -> Route:
        material = _MADE_OF[product]
        taken = product if source.sort == "at" and target.name not in _NO_USE else ""
        return self._route(entry, source, target, material, self._kind(material)[0], taken)

    def _product_mass(self, entry: Entry, product: str) -> Mass:
        if entry.data.get("amount") is not None:
            return self._amount(entry, _MADE_OF[product])
        grams = self.grams.get(entry.station, _PREPUPA_G)
        return weighed(float(entry.data["count"]) * grams / _GRAMS if product == "larvae" else 0.0)

    def _amount(self, entry: Entry, material: str) -> Mass:
        return self.place.mass(entry.data["amount"], material, entry.us)

    def _litres(self, entry: Entry) -> Mass:
        return weighed(self.place.litres(entry.data["amount"], entry.us))

    def _here(self, entry: Entry) -> Account:
        return self._at.get(entry.station) or Account("at", entry.station)

    def _made(
        self,
        entry: Entry,
        source: Account,
        target: Account,
        material: str,
        mass: Mass,
        stream: str,
        product: str = "",
    ) -> Move:
        return self._move(entry, self._route(entry, source, target, material, stream, product), mass)

    def _route(
        self, entry: Entry, source: Account, target: Account, material: str, stream: str, product: str = ""
    ) -> Route:
        _, dry_share, nitrogen_share = self._kind(material)
        way = way_of(stream, source, target, self._types.get(entry.station, ""))
        key = f"{entry.station} {source} {target} {material} {product}"
        return Route(
            key, entry.station, source, target, stream, material, way, product, dry_share, nitrogen_share
        )

    def _move(self, entry: Entry, route: Route, mass: Mass) -> Move:
        us, id_, _, _, _, day, by, data = entry
        month = self._months.get(day)
        if month is None:
            month = self._months[day] = data["at"][:7]
        # As `Move(...)`, without the wrapper that a named tuple puts around it: a log has many.
        return _moved(Move, (day, us, id_, month, by, data.get("to") or "", mass, route))

    def _kind(self, name: str) -> tuple[str, float, float]:
        """Give stream, dry share of the wet mass and nitrogen share of the dry mass of a feedstock."""
        kind = self._kinds.get(name)
        if kind is None:
            found = self.place.material(name)
            dry_share = (100.0 - found.moisture_pct) / 100.0
            kind = self._kinds[name] = (found.stream, dry_share, found.nitrogen_pct_dry / 100.0)
        return kind

    def _weighed(self, entry: Entry) -> float:
        return self.place.mass(entry.data["fifty_mass"]).kg * _GRAMS / _FIFTY


def way_of(stream: str, source: Account, target: Account, station_type: str) -> Way:
    """Say how the ledger counts what moves between two accounts, entered at a kind of station.

    >>> way_of("kitchen", Account("in", "kitchen"), Account("at", "trough"), "bed")
    'fed'
    >>> way_of("fish", Account("at", "pond"), Account("out", "landfill"), "pond")
    'landfilled_apart'
    """
    if stream in ("honey", "water"):
        return ""
    counts = stream not in _NOT_COUNTED and station_type not in _IN_WATER
    if target.sort == "at" and source.sort == "at":
        return ""
    if target.sort == "at":
        return "fed" if counts else "apart"
    if source.sort != "at" or target.sort != "out":
        return ""
    if target == LANDFILL:
        return "landfilled" if counts else "landfilled_apart"
    return "elsewhere" if counts and target == _BURIAL else ""


def _fifty(entry: Entry) -> bool:
    return entry.kind == "self_harvest" and entry.data.get("fifty_mass") is not None


_PREPUPA_G = sources.value("soldierfly.prepupa_mass")
_RULES: Final[Mapping[str, Callable[[_Reader, Entry], Move | None]]] = {
    "feed": _Reader.feed,
    "water": _Reader.water,
    "reject": _Reader.reject,
    "clear_out": _Reader.clear_out,
    "castings": _Reader.castings,
    "self_harvest": _Reader.self_harvest,
    "given": _Reader.given,
    "solids": _Reader.solids,
    "catch": _Reader.catch,
    "stocking": _Reader.stocking,
    "hive_harvest": _Reader.honey,
}
