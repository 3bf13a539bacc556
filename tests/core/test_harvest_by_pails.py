"""A side is emptied pail by pail: the pails of one day are one harvest, however many were weighed."""

from typing import Any

from fallowside.core.plan import plan
from tests.logs import Raw, entry, kg, setups

DAY = 24 * 60
AT = "2026-06-01T18:00:00+02:00"


def log_with(pails: list[float]) -> list[Raw]:
    feeds = [
        entry("feed", day * DAY, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(1.2))
        for day in range(1, 50)
    ]
    switch = entry("switch", 50 * DAY, station="bed", side="b")
    fed_since = [
        entry("feed", day * DAY, station="bed", side="b", feedstock="vegetable_scraps", amount=kg(1.0))
        for day in range(51, 80)
    ]
    taken = [
        entry(
            "castings",
            80 * DAY + number,
            station="bed",
            side="a",
            amount=kg(mass),
            method="after_migration",
            id=f"pail-{number}",
        )
        for number, mass in enumerate(pails)
    ]
    return [*setups(), *feeds, switch, *fed_since, *taken]


def masses(pails: list[float]) -> list[list[float]]:
    state: Any = plan(log_with(pails), AT)["stations"][0]["state"]
    figures = [state["sides"][side][what] for side in ("a", "b") for what in ("scraps", "castings", "worms")]
    return [[one["low"], one["value"], one["high"]] for one in figures]


def test_three_pails_leave_the_bed_as_one_heap_of_their_mass_does() -> None:
    assert masses([6.0, 5.0, 4.0]) == masses([15.0])
    assert masses([15.0]) != masses([5.0])
