"""Catches that are planned, and which of them still stand: until taken, withdrawn, or past.

A plan is taken by fish killed of its kind within a few days of its day, each fish for the plan nearest
to it. As long as fewer were killed the rest stands, until the plan's day is over. A plan that was
withdrawn is no entry any more.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.water import fishtable
from fallowside.core.water.fishstock import put_together

KEPT_DAYS: Final = int(sources.value("pond.plan_days"))
"""So long after its day a plan still stands, and so far from it fish taken count for it."""
_AHEAD_DAYS: Final = 365


class Planned(NamedTuple):
    """A plan that stands: its entry, its day [ordinal], and how many fish are still to be taken."""

    entry: Entry
    day: int
    left: int


def standing(entries: Sequence[Entry], today: int) -> list[Planned]:
    """Give the plans that stand on a day, the earliest first.

    Args:
        entries: A pond's entries, effective and sorted, none after `today`.
        today: Local day. [ordinal]
    """
    plans = [
        Planned(entry, _day(entry), entry.data["number"]) for entry in entries if entry.kind == "catch_plan"
    ]
    plans.sort(key=lambda one: (one.day, one.entry.us, one.entry.id))
    for entry in entries:
        if entry.kind == "catch" and entry.data["fate"] == "killed":
            _take(plans, entry)
    return [one for one in plans if _stands(one, today)]


def plan_for(entries: Sequence[Entry], catch: Entry) -> Entry | None:
    """Give the plan nearest to a catch that it may have been made by, whatever was left of it."""
    plans = [Planned(one, _day(one), 0) for one in entries if one.kind == "catch_plan"]
    near = [plans[at] for at in _near(plans, catch)]
    return (
        min(near, key=lambda one: (abs(one.day - catch.day), one.day, one.entry.id)).entry if near else None
    )


def _day(plan: Entry) -> int:
    return date.fromisoformat(plan.data["day"]).toordinal()


def same_fish(one: str, other: str) -> bool:
    """Tell whether two words mean the same fish: spelt alike, or names of one kind.

    >>> same_fish("Trout", "rainbow  trout"), same_fish("gudgeon", "roach")
    (True, False)
    """
    known = fishtable.kind(one)
    return put_together(one) == put_together(other) or (
        known != fishtable.ANY and known == fishtable.kind(other)
    )


def _stands(one: Planned, today: int) -> bool:
    if not today - KEPT_DAYS <= one.day <= today + _AHEAD_DAYS:
        return False
    begun = one.left < one.entry.data["number"]
    return one.left > 0 and not (begun and one.day < today)


def _take(plans: list[Planned], catch: Entry) -> None:
    """Count the fish of a catch for the plans nearest to its day."""
    number = catch.data["number"]
    for at in sorted(_near(plans, catch), key=lambda at: (abs(plans[at].day - catch.day), at)):
        plan = plans[at]
        taken = min(number, plan.left)
        plans[at] = plan._replace(left=plan.left - taken)
        number -= taken


def _near(plans: Sequence[Planned], catch: Entry) -> Iterator[int]:
    for at, plan in enumerate(plans):
        near = abs(plan.day - catch.day) <= KEPT_DAYS and plan.entry.us < catch.us
        if near and same_fish(plan.entry.data["species"], catch.data["species"]):
            yield at
