"""The whole place as one balance of mass and nitrogen: in, out, lost, and what lies there.

Every move has two ends, so whatever enters one account has left another; the only other change is
loss, reckoned here day by day: of the dry matter put into a bed or bin a part turns into gas at a
steady pace (first-order), nitrogen with it, and what lies there keeps the moisture it should have, so
the water that fits nowhere has evaporated or drained. Hence, for each station and for the place,

    stored before + in = out + lost + stored after

to the last bits, for wet mass, dry mass and nitrogen. `stored` is what the books say. Below zero
means that more came out than was ever recorded going in, say from a bed filled before the log began.
A pond starts with its fish stock, if that is set, and has no loss here; as it grows food of its own, and
solids bring its water along, its books need not stay above zero.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from operator import attrgetter
from typing import Final, NamedTuple

from fallowside.core import materials, shapes, sources
from fallowside.core.accounts import moves
from fallowside.core.accounts.moves import Move
from fallowside.core.numeric import exp
from fallowside.core.place import Place
from fallowside.core.shapes import because
from fallowside.core.told import Told


class Amount(NamedTuple):
    """Wet mass, dry mass and nitrogen of one thing. [kg]"""

    wet_kg: float = 0.0
    dry_kg: float = 0.0
    nitrogen_kg: float = 0.0

    def plus(self, other: "Amount", sign: float = 1.0) -> "Amount":
        """Add another, or take it off with sign -1."""
        (wet, dry, nitrogen), (more_wet, more_dry, more_nitrogen) = self, other
        # As `Amount(...)`, without the wrapper that a named tuple puts around it: a plan adds hundreds.
        return tuple.__new__(
            Amount, (wet + sign * more_wet, dry + sign * more_dry, nitrogen + sign * more_nitrogen)
        )


NOTHING: Final = Amount()
_SLIGHT_KG: Final = 0.05
_DAY: Final = attrgetter("day")


@dataclass(frozen=True, slots=True)
class Account:
    """A period of one station, of one product in hand, or of the place; `open` is what does not close."""

    name: str
    came: Mapping[str, Amount]
    left: Mapping[str, Amount]
    lost: Amount
    before: Amount
    after: Amount

    @property
    def open(self) -> Amount:
        """Before plus in, less out, lost and after: nothing but rounding."""
        return (
            self.before.plus(total(self.came))
            .plus(total(self.left), -1.0)
            .plus(self.lost, -1.0)
            .plus(self.after, -1.0)
        )


@dataclass(frozen=True, slots=True)
class Balance:
    """The place, and each of its accounts: stations (`at bed`) and products in hand (`hand larvae`)."""

    place: Account
    accounts: Sequence[Account]


def total(amounts: Mapping[str, Amount]) -> Amount:
    """Add amounts up."""
    found = NOTHING
    for one in amounts.values():
        found = found.plus(one)
    return found


class Books:
    """The accounts of a place, kept: a balance of a later or longer period carries on from an earlier.

    Args:
        earlier: Books of a period that begins earlier; these need not go through what lies before it.
    """

    def __init__(self, earlier: "Books | None" = None) -> None:
        self._earlier = earlier
        self._place: Place | None = None
        self._since_day = 0
        self._last: Move | None = None
        self._read = 0
        self._opening: _Stores = {}
        self._open: _Stores = {}
        """The stores of the period with all that was posted to them so far."""
        self._mark = moves.Bookmark()
        self._shut: dict[moves.Account, tuple[int, Account]] = {}
        """Accounts as they were last closed, and on which day: those nothing was posted to stay so."""
        self._told = Told()
        self._given: tuple[Sequence[Move], tuple[Place, int, int, int], Balance] | None = None
        """The last balance and what it was asked of: tally and circle ask for the same one."""

    def balance(self, posted: Sequence[Move], place: Place, since_day: int, until_day: int) -> Balance:
        """Balance a period.

        Args:
            posted: Moves of the whole log, sorted by day, time and id; a list that only grows.
            place: The place they belong to.
            since_day, until_day: First and last local day, both included. [ordinal]
        """
        asked = place, since_day, until_day, len(posted)
        if self._given is not None and self._given[0] is posted and self._given[1] == asked:
            return self._given[2]
        if not self._still_holds(posted, place, since_day):
            self._opening, start = self._begun(posted, place, since_day)
            self._read = bisect_left(posted, since_day, lo=start, key=_DAY)
            _post(posted[start : self._read], self._opening, place)
            self._place, self._since_day = place, since_day
            for store in self._opening.values():
                store.rest_until(since_day)
            self._mark = moves.Bookmark()
        self._last = posted[self._read - 1] if self._read else None
        accounts = []
        for account, store in sorted(self._posted(posted, place, since_day, until_day).items()):
            shut = self._shut.get(account)
            if shut is None or shut[0] != until_day:
                closing = store.copy()
                closing.rest_until(until_day + 1)
                shut = self._shut[account] = until_day, closing.closed(str(account))
            accounts.append(shut[1])
        balance = Balance(_whole(accounts), accounts)
        self._given = posted, asked, balance
        return balance

    def look(self, posted: Sequence[Move], place: Place, since_day: int, until_day: int) -> shapes.Balance:
        """Put a period's balance into shape; figures are left unrounded, so that it closes as read."""
        found = self.balance(posted, place, since_day, until_day)
        accounts = found.accounts
        place_told, *told = (
            self._told.of(one.name, one, partial(_shaped, one)) for one in (found.place, *accounts)
        )
        return {
            "place": place_told[0],
            "accounts": [shaped for shaped, _ in told],
            "open_kg": max(gap for _, gap in (place_told, *told)),
            "because": because(
                "tally.balance_because",
                [],
                [
                    "recovered.bed_respired",
                    "worms.decay_rate",
                    "recovered.bin_respired",
                    "recovered.bin_pace",
                ],
                short=next((_name(one, place) for one in accounts if _is_short(one, place)), "none"),
            ),
        }

    def _posted(self, posted: Sequence[Move], place: Place, since_day: int, until_day: int) -> "_Stores":
        """Give the stores with all moves of the period posted, from where the last balance of it ended."""
        leads, rest = self._mark.turn(posted, place, since_day, until_day)
        if not leads:
            self._open = {name: store.opened() for name, store in self._opening.items()}
            self._shut = {}
        for move in rest if leads else ():
            self._shut.pop(move.route.source, None)
            self._shut.pop(move.route.target, None)
        _post(rest, self._open, place)
        return self._open

    def _begun(self, posted: Sequence[Move], place: Place, since_day: int) -> "tuple[_Stores, int]":
        """Give the stores as these or the earlier books opened them, and how many moves they had read."""
        for books in (self, self._earlier):
            if (
                books is not None
                and books._since_day <= since_day
                and books._still_holds(posted, place, books._since_day)
            ):
                return {name: store.opened() for name, store in books._opening.items()}, books._read
        return {}, 0

    def _still_holds(self, posted: Sequence[Move], place: Place, since_day: int) -> bool:
        """Tell whether nothing before the period has changed since it was opened."""
        read = self._read
        return (
            self._place is place
            and self._since_day == since_day
            and len(posted) >= read
            and (read == len(posted) or posted[read].day >= since_day)
            and (read == 0 or posted[read - 1] is self._last)
        )


def _is_short(one: Account, place: Place) -> bool:
    """Tell whether more came out of an account than was recorded going in, by more than grams."""
    if one.after.dry_kg >= -_SLIGHT_KG:
        return False
    return not (one.name.startswith("at ") and _type(one.name.removeprefix("at "), place) == "pond")


def _name(one: Account, place: Place) -> str:
    name = one.name.partition(" ")[2]
    station = place.stations.get(name)
    return name if station is None else station.name


def _shaped(one: Account) -> tuple[shapes.Account, float]:
    """Put an account into shape, and give the most that does not close in it. [kg]"""
    return {
        "account": one.name,
        "came": [_flow(name, amount) for name, amount in sorted(one.came.items())],
        "left": [_flow(name, amount) for name, amount in sorted(one.left.items())],
        "lost": _flow("lost", one.lost),
        "before": _flow("before", one.before),
        "after": _flow("after", one.after),
    }, max(map(abs, one.open))


def _flow(what: str, amount: Amount) -> shapes.Flow:
    return {
        "what": what,
        "wet_kg": amount.wet_kg,
        "dry_kg": amount.dry_kg,
        "nitrogen_kg": amount.nitrogen_kg,
    }


class _Store:
    """What lies in one account: what is still to turn into gas, and what stays.

    In plain numbers, since a log has many moves.
    """

    __slots__ = (
        "before", "came", "day", "kind", "left", "lost_dry", "lost_nitrogen", "pending_dry",
        "pending_nitrogen", "staying_dry", "staying_nitrogen", "staying_wet",
    )  # fmt: skip

    def __init__(self, kind: "_Kind") -> None:
        self.kind, self.day, self.before = kind, 0, NOTHING
        self.pending_dry = self.pending_nitrogen = self.lost_dry = self.lost_nitrogen = 0.0
        self.staying_wet = self.staying_dry = self.staying_nitrogen = 0.0
        self.came: dict[moves.Account, list[float]] = {}
        self.left: dict[moves.Account, list[float]] = {}

    def opened(self) -> "_Store":
        """Give the same store at the start of a period."""
        store = _Store(self.kind)
        store.day, store.before = self.day, self.stored()
        store.pending_dry, store.pending_nitrogen = self.pending_dry, self.pending_nitrogen
        store.staying_wet, store.staying_dry = self.staying_wet, self.staying_dry
        store.staying_nitrogen = self.staying_nitrogen
        return store

    def copy(self) -> "_Store":
        """Give the same store, to be carried on by itself."""
        store = self.opened()
        store.before, store.lost_dry, store.lost_nitrogen = self.before, self.lost_dry, self.lost_nitrogen
        store.came = {name: sums[:] for name, sums in self.came.items()}
        store.left = {name: sums[:] for name, sums in self.left.items()}
        return store

    def rest_until(self, day: int) -> None:
        """Let days go by."""
        dry, nitrogen, stays = self.pending_dry, self.pending_nitrogen, self.kind.stays
        for _ in range(day - self.day if dry or nitrogen else 0):
            self.lost_dry += dry - dry * stays
            self.lost_nitrogen += nitrogen - nitrogen * stays
            dry, nitrogen = dry * stays, nitrogen * stays
        self.pending_dry, self.pending_nitrogen, self.day = dry, nitrogen, max(self.day, day)

    def put(self, came: list[float], wet_kg: float, dry_kg: float, nitrogen_kg: float) -> None:
        """Take something in, and add it to the sums of what came from there."""
        came[0] += wet_kg
        came[1] += dry_kg
        came[2] += nitrogen_kg
        dry, nitrogen = dry_kg * self.kind.respired, nitrogen_kg * self.kind.nitrogen_lost
        self.pending_dry += dry
        self.pending_nitrogen += nitrogen
        self.staying_wet += wet_kg
        self.staying_dry += dry_kg - dry
        self.staying_nitrogen += nitrogen_kg - nitrogen

    def take(self, left: list[float], wet_kg: float, dry_kg: float, nitrogen_kg: float) -> None:
        """Let something go, and add it to the sums of what went there."""
        left[0] += wet_kg
        left[1] += dry_kg
        left[2] += nitrogen_kg
        self.staying_wet -= wet_kg
        self.staying_dry -= dry_kg
        self.staying_nitrogen -= nitrogen_kg

    def richness(self) -> float | None:
        """Give the nitrogen of what stays per its dry matter, if there is any. [kg/kg]"""
        dry, nitrogen = self.staying_dry, self.staying_nitrogen
        return nitrogen / dry if dry > 0.0 and nitrogen > 0.0 else None

    def stored(self) -> Amount:
        dry = self.pending_dry + self.staying_dry
        wet = self.staying_wet if self.kind.dry_share is None else dry / self.kind.dry_share
        return Amount(wet, dry, self.pending_nitrogen + self.staying_nitrogen)

    def closed(self, name: str) -> Account:
        after = self.stored()
        came = {str(one): Amount(*sums) for one, sums in self.came.items()}
        left = {str(one): Amount(*sums) for one, sums in self.left.items()}
        # Wet mass that fits nowhere has evaporated or drained.
        wet = 0.0
        if self.kind.dry_share is not None:
            wet = self.before.wet_kg + total(came).wet_kg - total(left).wet_kg - after.wet_kg
        return Account(name, came, left, Amount(wet, self.lost_dry, self.lost_nitrogen), self.before, after)


def _sums(notes: dict[moves.Account, list[float]], account: moves.Account) -> list[float]:
    return notes.setdefault(account, [0.0, 0.0, 0.0])


class _Kind(NamedTuple):
    """How what lies in a kind of account changes; `dry_share` is None where wet mass just stays."""

    stays: float = 1.0
    respired: float = 0.0
    nitrogen_lost: float = 0.0
    dry_share: float | None = None


def _kind(station_type: str, pace: str) -> _Kind:
    def value(what: str) -> float:
        return sources.value(f"recovered.{station_type}_{what}")

    return _Kind(
        exp(-sources.value(pace)),
        value("respired"),
        value("nitrogen_lost"),
        (100.0 - value("moisture")) / 100.0,
    )


_KEEPS: Final = _Kind()
_FISH: Final = materials.get("fish_scraps")
_KINDS: Final = {
    "bed": _kind("bed", "worms.decay_rate"),
    "bin": _kind("bin", "recovered.bin_pace"),
    "pond": _Kind(dry_share=(100.0 - _FISH.moisture_pct) / 100.0),
}
_MIXED: Final = frozenset({"finished_castings", "larvae_residue"})
"""What leaves a store as rich in nitrogen as the store is; other things have contents of their own."""
_HIVE: Final = "hive"
_INSIDE: Final = frozenset({"at", "hand"})

_Stores = dict[moves.Account, _Store]


class _Posting(NamedTuple):
    """Which stores moves of one route leave and reach, with the sums they are added to there."""

    source: _Store | None
    left: list[float]
    target: _Store | None
    came: list[float]
    mixed: bool


def _post(posted: Sequence[Move], stores: _Stores, place: Place) -> None:
    """Post moves, in their order."""
    postings: dict[str, _Posting] = {}
    for day, _, _, _, _, _, mass, route in posted:
        posting = postings.get(route.key)
        if posting is None:
            posting = postings[route.key] = _posting(route, stores, place)
        source, left, target, came, mixed = posting
        dry = mass.kg * route.dry_share
        nitrogen = dry * route.nitrogen_share
        if source is not None:
            if source.day < day:
                source.rest_until(day)
            if mixed:
                richness = source.richness()
                nitrogen = nitrogen if richness is None else richness * dry
            source.take(left, mass.kg, dry, nitrogen)
        if target is not None:
            if target.day < day:
                target.rest_until(day)
            target.put(came, mass.kg, dry, nitrogen)


def _posting(route: moves.Route, stores: _Stores, place: Place) -> _Posting:
    source = target = None
    left, came = list[float](), list[float]()
    station = place.stations.get(route.station)
    if route.product != "honey" and (station is None or station.type != _HIVE):
        if route.source.sort in _INSIDE:
            source = stores.get(route.source) or _store(route.source, stores, place)
            left = _sums(source.left, route.target)
        if route.target.sort in _INSIDE:
            target = stores.get(route.target) or _store(route.target, stores, place)
            came = _sums(target.came, route.source)
    return _Posting(source, left, target, came, route.material in _MIXED)


def _store(account: moves.Account, stores: _Stores, place: Place) -> _Store:
    station = place.stations.get(account.name) if account.sort == "at" else None
    made = stores[account] = _Store(_KEEPS if station is None else _KINDS.get(station.type, _KEEPS))
    stock_kg = None if station is None else station.item.si("fish_stock")
    if stock_kg:
        dry = stock_kg * (100.0 - _FISH.moisture_pct) / 100.0
        made.put(_sums(made.came, moves.STOCK), stock_kg, dry, dry * _FISH.nitrogen_pct_dry / 100.0)
    return made


def _type(station: str, place: Place) -> str:
    found = place.stations.get(station)
    return found.type if found is not None else ""


def _whole(accounts: Iterable[Account]) -> Account:
    """Put accounts together: what passed between them is neither in nor out."""
    came: dict[str, Amount] = {}
    left: dict[str, Amount] = {}
    lost = before = after = NOTHING
    for one in accounts:
        for whole, part in ((came, one.came), (left, one.left)):
            for name, amount in part.items():
                if name.partition(" ")[0] not in _INSIDE:
                    whole[name] = whole.get(name, NOTHING).plus(amount)
        lost, before, after = lost.plus(one.lost), before.plus(one.before), after.plus(one.after)
    return Account("place", came, left, lost, before, after)
