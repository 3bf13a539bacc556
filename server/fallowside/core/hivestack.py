"""The stack of boxes: new ones go in below, harvest is taken from above, and each box is in one place.

Comb is built downward. Bees raise brood at the bottom of what is built and store honey above it, so
that what a box holds follows from where it stands and how long it has stood there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.place import Place, Station

Holds = Literal["building", "brood", "honey"]
Trouble = Literal["empty", "not_there", "there_already", "above"]


class Box(NamedTuple):
    """A box of the stack: its name, the day it came, and the entry that says so ('' at the start)."""

    name: str
    day: int
    id: str


class Odd(NamedTuple):
    """Something about a box that was entered and cannot be as it stands, or is not how it is done."""

    code: Trouble
    box: str
    id: str
    day: int


@dataclass(slots=True)
class Honey:
    """Honey taken, and the entries that say so. [kg]"""

    kg: float = 0.0
    ids: list[str] = field(default_factory=list)

    def add(self, kg: float, name: str) -> None:
        """Add one harvest."""
        self.kg += kg
        self.ids.append(name)


@dataclass(slots=True)
class Stack:
    """The boxes from the top down, those taken with the day they were, and honey by box and year."""

    boxes: list[Box] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)
    odd: list[Odd] = field(default_factory=list)
    by_box: dict[str, Honey] = field(default_factory=dict)
    years: dict[str, Honey] = field(default_factory=dict)


def read(station: Station, entries: Sequence[Entry], place: Place) -> Stack:
    """Read a hive's entries (effective, sorted) into its stack.

    A box named that stands there already is moved, not doubled; one that is not there cannot be taken.
    """
    stack = at_start(station)
    for entry in entries:
        if entry.kind == "hive_box":
            change(stack, entry)
        elif entry.kind == "hive_harvest":
            kg = place.mass(entry.data["amount"], "", entry.us).kg
            stack.years.setdefault(entry.data["at"][:4], Honey()).add(kg, entry.id)
            stack.by_box.setdefault(_harvested(stack, entry), Honey()).add(kg, entry.id)
    return stack


def at_start(station: Station) -> Stack:
    """Give the stack as the hive was set up, one box where nobody said."""
    boxes = int(station.item.number("boxes", 1.0) or 0.0)
    return Stack([Box(f"start-{number + 1}", station.since_day, "") for number in range(boxes)])


def change(stack: Stack, entry: Entry) -> None:
    """Put a box in or take one out, as an entry says."""
    data, named = entry.data, entry.data.get("box")
    below = data["position"] == "below"
    if data["change"] == "added":
        box = Box(named or f"box-{entry.id}", entry.day, entry.id)
        there = _at(stack, box.name)
        if there is not None:
            stack.odd.append(Odd("there_already", box.name, entry.id, entry.day))
            box = stack.boxes.pop(there)
        elif not below:
            stack.odd.append(Odd("above", box.name, entry.id, entry.day))
        stack.taken = [one for one in stack.taken if one.name != box.name]
        stack.boxes.insert(len(stack.boxes) if below else 0, box)
        return
    at = _at(stack, named) if named else (len(stack.boxes) - 1 if below else 0)
    if not stack.boxes:
        stack.odd.append(Odd("empty", named or "", entry.id, entry.day))
    elif at is None:
        stack.odd.append(Odd("not_there", named or "", entry.id, entry.day))
    else:
        stack.taken.append(stack.boxes.pop(at)._replace(day=entry.day))


def holds(stack: Stack, at: int, today: int) -> Holds:
    """Say what a box holds, most likely, by its place and by when it came.

    The lowest is being built while it is new; a box with two others or more under it that has stood
    long enough holds honey, since brood has moved down; the rest is brood. Common practice, no source.

    >>> old, new = Box("a", 100, ""), Box("c", 190, "")
    >>> stack = Stack([old, old._replace(name="b"), old._replace(name="d"), new])
    >>> [holds(stack, at, 200) for at in range(4)]
    ['honey', 'honey', 'brood', 'building']
    """
    box, under = stack.boxes[at], len(stack.boxes) - 1 - at
    age = today - box.day
    if under == 0 and age < _NEW_DAYS:
        return "building"
    return "honey" if under >= _LEFT and age >= _HONEY_DAYS else "brood"


def ripe(stack: Stack, today: int) -> list[Box]:
    """Give the boxes harvest may be taken from: honey, from the top down, those that must stay left out."""
    found = []
    for at, box in enumerate(stack.boxes):
        if holds(stack, at, today) != "honey":
            break
        found.append(box)
    return found


def _at(stack: Stack, name: str) -> int | None:
    return next((at for at, one in enumerate(stack.boxes) if one.name == name), None)


def _harvested(stack: Stack, entry: Entry) -> str:
    """Name the box honey came from: the one said, else the one last taken that day, else the top one."""
    named = entry.data.get("box")
    if named:
        return str(named)
    if stack.taken and stack.taken[-1].day == entry.day:
        return stack.taken[-1].name
    return stack.boxes[0].name if stack.boxes else ""


_NEW_DAYS = int(sources.value("hive.new_days"))
_HONEY_DAYS = int(sources.value("hive.honey_days"))
_LEFT = int(sources.value("hive.boxes_left"))
