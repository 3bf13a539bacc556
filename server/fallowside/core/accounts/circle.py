"""The circle: what moved between kitchen, bed, bin, pond, hive, garden and table, and what is stored.

The balance of the place (`balance.py`) knows each account; here accounts become the few places a
person sees, and each arrow between two of them carries wet and dry mass, nitrogen and protein with the
entries behind it. For every place that stores,

    stored before + in = out + stored after

to the last bits, loss to air and drain being an arrow like any other. Fish go to the kitchen whole;
what comes back from it as scraps was not eaten, the rest went to the table. Protein is nitrogen of
food, feed, fish and larvae times its factor; what castings and solids hold is protein no more, so
each place says how much it turned into something else. A hive stores what its weight says: between two
weighings bees brought what is more, and ate what is less, honey taken reckoned in.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Final, NamedTuple

from fallowside.core import shapes, sources
from fallowside.core.accounts import moves
from fallowside.core.accounts.balance import Account, Amount, Books
from fallowside.core.accounts.moves import Move
from fallowside.core.hive import Weighing
from fallowside.core.place import Place
from fallowside.core.shapes import MOST_ENTRIES, because, iso
from fallowside.core.told import Told

NODES: Final = (
    "kitchen", "bed", "bin", "pond", "hive", "garden", "table", "hand", "brought", "elsewhere", "air",
)  # fmt: skip
"""Places of the picture. `hand` is what was taken out and waits; `brought`, `elsewhere` and `air` are
outside: what came from there or went there is neither stored nor balanced."""
STORES: Final = frozenset({"bed", "bin", "pond", "hand"})

_NOTHING: Final = Amount()
_SOURCES: Final[Mapping[str, str]] = {"kitchen": "kitchen", "fish": "kitchen", "garden": "garden"}
_TARGETS: Final[Mapping[str, str]] = {"kitchen": "kitchen", "garden": "garden"}
_FOOD: Final = frozenset({"kitchen", "fish", "feed"})
_LARVAE: Final = "larvae"
_FISH: Final = "in fish"
_PERCENT: Final = 100.0
_EVER: Final = 0, 1 << 30

_LARVAE_FACTOR: Final = sources.value("soldierfly.nitrogen_to_protein")
_CRUDE_FACTOR: Final = sources.value("pond.protein_factor")

_Pair = tuple[str, str]


class Load(NamedTuple):
    """What an arrow carries. [kg]"""

    amount: Amount = _NOTHING
    protein_kg: float = 0.0

    def plus(self, amount: Amount, protein_kg: float = 0.0, sign: float = 1.0) -> "Load":
        """Add more, or take it off with sign -1."""
        mine, protein = self
        return tuple.__new__(Load, (mine.plus(amount, sign), protein + sign * protein_kg))


_NO_LOAD: Final = Load()


@dataclass(slots=True)
class Circle:
    """A period's picture: arrows by the places they join, and what each place stored. [kg]"""

    arrows: dict[_Pair, Load] = field(default_factory=dict)
    ids: dict[_Pair, list[str]] = field(default_factory=dict)
    before: dict[str, Amount] = field(default_factory=dict)
    after: dict[str, Amount] = field(default_factory=dict)

    def passed(self) -> dict[str, tuple[Load, Load]]:
        """Give what came to each place and what left it."""
        passed = dict.fromkeys(NODES, (_NO_LOAD, _NO_LOAD))
        for (source, target), load in self.arrows.items():
            came, left = passed[target]
            passed[target] = came.plus(load.amount, load.protein_kg), left
            came, left = passed[source]
            passed[source] = came, left.plus(load.amount, load.protein_kg)
        return passed

    def gap(self, node: str, passed: tuple[Load, Load]) -> Amount:
        """Give what does not close at a place that so much passed: nothing but rounding."""
        came, left = passed
        return (
            self.before.get(node, _NOTHING)
            .plus(came.amount)
            .plus(left.amount, -1.0)
            .plus(self.after.get(node, _NOTHING), -1.0)
        )


Hives = Mapping[str, Sequence[Weighing]]
"""Each hive's weighings, in order of time."""


class Kept:
    """A period's books and the protein that moved in it, kept: a longer list of moves is read on in."""

    def __init__(self, books: Books) -> None:
        self.books = books
        self._mark = moves.Bookmark()
        self._pairs: dict[str, _Pair] = {}
        """Of the routes met so far, by key."""
        self.protein: dict[_Pair, float] = {}
        self.ids: dict[_Pair, list[str]] = {}
        self.scraps = 0.0
        """Protein of scraps of fish. [kg]"""
        self._taken = moves.Bookmark()
        self.honey: dict[str, list[Move]] = {}
        """All honey ever taken, by hive."""
        self.told = Told()

    def read(self, posted: Sequence[Move], place: Place, since_day: int, until_day: int) -> None:
        """Add the protein and the entries of a period's moves to the pairs of places they join."""
        leads, rest = self._taken.turn(posted, place, *_EVER)
        if not leads:
            self.honey = {}
        for move in rest:
            if move.route.product == "honey":
                self.honey.setdefault(move.route.station, []).append(move)
        leads, rest = self._mark.turn(posted, place, since_day, until_day)
        if not leads:
            self.told = Told()
            self._pairs, self.protein, self.ids, self.scraps = {}, {}, {}, 0.0
        hives = {name for name, station in place.stations.items() if station.type == "hive"}
        # A year has thousands of moves between a few accounts: each two are named once.
        for move in rest:
            route = move.route
            if route.product == "honey" or route.station in hives:
                continue
            pair = self._pairs.get(route.key)
            if pair is None:
                pair = _named(str(route.source), place), _named(str(route.target), place)
                self._pairs[route.key] = pair
            protein = protein_kg(move)
            self.protein[pair] = self.protein.get(pair, 0.0) + protein
            self.ids.setdefault(pair, []).append(move.id)
            if route.stream == "fish" and route.source.sort == "in":
                self.scraps += protein


def circle(
    posted: Sequence[Move], place: Place, since_day: int, until_day: int, kept: Kept, hives: Hives
) -> Circle:
    """Draw the circle of a period.

    Args:
        posted: Moves of the whole log, sorted by day, time and id.
        place: The place they belong to.
        since_day, until_day: First and last local day, both included. [ordinal]
        kept: Kept between two circles of the same period, or new.
        hives: What each hive had stored when it was weighed.

    Returns:
        Arrows and stores; every place but the three outside closes.
    """
    kept.read(posted, place, since_day, until_day)
    found, back = Circle(), Load()
    for account in kept.books.balance(posted, place, since_day, until_day).accounts:
        node, flows, scraps = kept.told.of(account.name, account, partial(_account, account, place))
        found.before[node] = found.before.get(node, _NOTHING).plus(account.before)
        found.after[node] = found.after.get(node, _NOTHING).plus(account.after)
        for pair, amount in flows:
            _add(found, pair, amount)
        back = back.plus(scraps)
    found.ids.update((pair, ids[:]) for pair, ids in kept.ids.items())
    for pair, protein in kept.protein.items():
        _add(found, pair, _NOTHING, protein)
    for name in sorted(one for one, station in place.stations.items() if station.type == "hive"):
        _hive(found, kept.honey.get(name, ()), hives.get(name, ()), since_day, until_day)
    _kitchen(found, Load(back.amount, kept.scraps))
    return found


def look(
    posted: Sequence[Move], place: Place, since_day: int, until_day: int, kept: Kept, hives: Hives
) -> shapes.Circle:
    """Put the circle of a period into shape; figures are left unrounded, so that it closes as read."""
    found = circle(posted, place, since_day, until_day, kept, hives)
    inner = [node for node in NODES if node in STORES or node in ("kitchen", "hive")]
    passed = found.passed()
    gaps = [abs(gap) for node in inner for gap in found.gap(node, passed[node])]
    stored = {node: (found.before.get(node), found.after.get(node)) for node in NODES}
    ids = {pair: found.ids.get(pair, []) for pair in found.arrows}
    return {
        "since": iso(since_day),
        "until": iso(until_day),
        "nodes": [
            kept.told.of(node, (stored[node], passed[node]), partial(_node, node, stored[node], passed[node]))
            for node in NODES
            if _is_there(found, node, place)
        ],
        "arrows": [
            kept.told.of(
                pair,
                (load := found.arrows[pair], count := len(ids[pair]), newest := ids[pair][-MOST_ENTRIES:]),
                partial(_arrow, pair, load, count, newest),
            )
            for pair in sorted(found.arrows, key=_order)
        ],
        "open_kg": max(gaps),
        "because": because(
            "circle.because",
            [],
            ["recovered.bed_respired", "recovered.bin_respired", "soldierfly.nitrogen_to_protein"],
            since=iso(since_day),
            until=iso(until_day),
        ),
    }


# -- arrows -------------------------------------------------------------------------------------------


def _account(account: Account, place: Place) -> tuple[str, list[tuple[_Pair, Amount]], Amount]:
    """Name an account's place, give its arrows, and what of it were scraps of fish."""
    node, back, flows = _named(account.name, place), _NOTHING, list[tuple[_Pair, Amount]]()
    for name, amount in account.came.items():
        if name.partition(" ")[0] == "in":
            flows.append(((_named(name, place), node), amount))
            back = back.plus(amount) if name == _FISH else back
    for name, amount in account.left.items():
        flows.append(((node, _named(name, place)), amount))
    lost = account.lost
    flows.append(((node, "air"), Amount(*(max(0.0, one) for one in lost))))
    # Water that nobody poured came with rain or from a spring: solids take it out again.
    flows.append((("brought", node), Amount(*(max(0.0, -one) for one in lost))))
    return node, flows, back


def protein_kg(move: Move) -> float:
    """Give the protein in what moved: food, feed, fish and larvae; none where it is something else. [kg]

    Source: nitrogen times 6.25; larvae times 4.76 (Janssen et al. 2017).
    """
    if move.route.material == _LARVAE:
        return move.nitrogen_kg * _LARVAE_FACTOR
    if move.route.stream in _FOOD or move.route.source.name == "stock":
        return move.nitrogen_kg * _CRUDE_FACTOR
    return 0.0


def _hive(
    found: Circle, honey: Sequence[Move], weighings: Sequence[Weighing], since_day: int, until_day: int
) -> None:
    """Draw honey from a hive to the table, and what bees brought and ate by the hive's weight.

    A hive that was never weighed stores nothing anybody knows of: bees brought what was taken.
    """
    level = weighings[0].stores_kg if weighings else 0.0
    for move in honey:
        if weighings and (move.us, move.id) < (weighings[0].us, weighings[0].id):
            level += move.mass.kg
    events = sorted(
        [(one.day, one.us, one.id, 0.0, one.stores_kg) for one in weighings]
        + [(one.day, one.us, one.id, one.mass.kg, None) for one in honey]
    )
    before = level
    for day, _, name, taken, weighed in events:
        if day > until_day:
            break
        there = max(0.0, level - taken) if weighed is None else weighed
        brought = there - level + taken
        level = there
        if day < since_day:
            before = level
            continue
        if taken:
            _add(found, ("hive", "table"), *_honey(taken), name)
        if brought > 0.0:
            _add(found, ("brought", "hive"), *_honey(brought), name)
        elif brought < 0.0:
            _add(found, ("hive", "air"), *_honey(-brought), name)
    if weighings:
        for stored, kg in ((found.before, before), (found.after, level)):
            stored["hive"] = stored.get("hive", _NOTHING).plus(_honey(kg)[0])


def _honey(kg: float) -> Load:
    """Give ripe honey's dry mass, nitrogen and protein; what bees store is counted as such. [kg]"""
    protein = kg * sources.value("hive.honey_protein") / _PERCENT
    dry = kg - kg * sources.value("hive.water_limit") / _PERCENT
    return Load(Amount(kg, dry, protein / _CRUDE_FACTOR), protein)


def _kitchen(found: Circle, back: Load) -> None:
    """Let fish that did not come back as scraps go to the table, and bring in what else was cooked."""
    fish = found.arrows.get(("pond", "kitchen"), Load())
    left = _NO_LOAD
    for (source, _), load in found.arrows.items():
        if source == "kitchen":
            left = left.plus(load.amount, load.protein_kg)
    names = found.ids.get(("pond", "kitchen"), [])
    eaten = [max(0.0, whole - part) for whole, part in zip(fish.amount, back.amount, strict=True)]
    protein = max(0.0, fish.protein_kg - back.protein_kg)
    if names and any(eaten):
        _add(found, ("kitchen", "table"), Amount(*eaten), protein)
        found.ids["kitchen", "table"] = [*names]
    bought = left.amount.plus(Amount(*eaten)).plus(fish.amount, -1.0)
    if any(left.amount):
        protein += left.protein_kg - fish.protein_kg
        _add(found, ("brought", "kitchen"), bought, protein)
        found.ids["brought", "kitchen"] = [
            name
            for pair, ids in found.ids.items()
            if pair[0] == "kitchen" and pair[1] != "table"
            for name in ids
        ]


def _add(found: Circle, pair: _Pair, amount: Amount, protein_kg: float = 0.0, name: str = "") -> None:
    if pair[0] == pair[1] or not (any(amount) or protein_kg or name or pair in found.ids):
        return
    found.arrows[pair] = found.arrows.get(pair, Load()).plus(amount, protein_kg)
    if name:
        found.ids.setdefault(pair, []).append(name)


def _named(account: str, place: Place) -> str:
    """Give the place of the picture an account belongs to."""
    sort, _, name = account.partition(" ")
    if sort == "hand":
        return "hand"
    if sort == "at":
        station = place.stations.get(name)
        return station.type if station is not None and station.type in NODES else "hand"
    return (_SOURCES if sort == "in" else _TARGETS).get(name, "brought" if sort == "in" else "elsewhere")


# -- shape --------------------------------------------------------------------------------------------


def _order(pair: _Pair) -> tuple[int, int]:
    return NODES.index(pair[0]), NODES.index(pair[1])


def _is_there(found: Circle, node: str, place: Place) -> bool:
    kinds = {one.type for one in place.stations.values()}
    return node in kinds or node in found.before or any(node in pair for pair in found.arrows)


def _node(
    node: str, stored: tuple[Amount | None, Amount | None], passed: tuple[Load, Load]
) -> shapes.CircleNode:
    (before, after), (came, left) = stored, passed
    return {
        "node": node,
        "before": None if before is None else _flow(before),
        "after": None if after is None else _flow(after),
        "came": _flow(came.amount, came.protein_kg),
        "left": _flow(left.amount, left.protein_kg),
        "protein_turned_kg": came.protein_kg - left.protein_kg if node in STORES else None,
    }


def _flow(amount: Amount, protein_kg: float | None = None) -> shapes.CircleFlow:
    return {
        "wet_kg": amount.wet_kg,
        "dry_kg": amount.dry_kg,
        "nitrogen_kg": amount.nitrogen_kg,
        "protein_kg": protein_kg,
    }


def _arrow(pair: _Pair, load: Load, count: int, newest: list[str]) -> shapes.CircleArrow:
    key, constants = "circle.arrow.because", list[str]()
    if "hive" in pair and pair[1] != "table":
        key, constants = "circle.arrow.hive", ["hive.box_mass", "hive.bare_mass", "hive.bees_mass"]
    elif pair[1] == "air":
        key, constants = "circle.arrow.air", ["recovered.bed_respired", "recovered.bin_respired"]
    return {
        "source": pair[0],
        "target": pair[1],
        **_flow(load.amount, load.protein_kg),
        "count": count,
        "because": because(key, newest, constants, count=count),
    }
