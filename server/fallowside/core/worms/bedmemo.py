"""What is known of a bed this morning, and what a later look at the same bed may keep of an earlier one.

All learning stops at midnight: it is a function of what was logged until yesterday. What is done and seen
today weighs the morning's draws anew, which is quick. So one more entry today costs neither the years
before nor the learning; an entry for an earlier day costs what it must.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fallowside.core import rotation, warmth
from fallowside.core.entries import Entry
from fallowside.core.place import Place, Station
from fallowside.core.warmth import Warmth
from fallowside.core.wormbed import Rates
from fallowside.core.worms import bedcharts, bedlog, bedpast, forecast
from fallowside.core.worms.bedlog import NEVER, Log
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.forecast import Belief
from fallowside.core.worms.gaussian import Gaussian

Warmths = tuple[Warmth, Warmth]


@dataclass(frozen=True, slots=True)
class Known:
    """A bed this morning, by all that was logged until yesterday.

    Attributes:
        warm: Temperature of both sides, from the first day to a year from today.
        past: The bed by the middle of the draws, before anything was done today.
        belief: Weighted draws.
        rates: Parameters at their middle.
    """

    warm: Warmths
    past: Past
    belief: Belief
    rates: Rates


@dataclass(frozen=True, slots=True)
class _Anchor:
    """A bed on the morning its last window begins, and what the turns before that taught.

    Attributes:
        day: That morning.
        past: The bed.
        lived: Temperatures of the days before.
        known: What was learned, if scoops clump as much as `clumping` has it.
    """

    day: int
    past: Past
    lived: tuple[tuple[float, ...], ...]
    known: Gaussian
    clumping: float

    def leads_to(self, day: int, lived: tuple[tuple[float, ...], ...]) -> bool:
        """Tell whether the bed of a later morning can be run from here: it was as warm until here."""
        return self.day <= day and all(
            now[: len(then)] == then for now, then in zip(lived, self.lived, strict=True)
        )


class Memo:
    """What one bed's looks leave to the next; a look with it gives what one without it would."""

    def __init__(self) -> None:
        self._of: tuple[Station, Place] | None = None
        self._entries: list[Entry] = []
        self._log: Log | None = None
        self._anchor: _Anchor | None = None
        self._known: Known | None = None
        self._warm: tuple[tuple[int, ...], Warmths] | None = None
        self._walks = warmth.Kept(), warmth.Kept()
        self.drawn = bedcharts.Drawn()

    def log(self, station: Station, entries: Sequence[Entry], place: Place, today: int) -> Log:
        """Read a bed's entries, from where an earlier reading ended if that may go on."""
        log, read = self._log, self._entries
        if log is None or not self._goes_on(log, station, entries, place, today):
            self._anchor = self._known = self._warm = None
            log = bedlog.read(station, entries, place, today)
        elif read != entries[: len(read)]:
            log = _anew(log, read, station, entries, place, today)
            self._warm = None
        elif len(read) < len(entries) or today != log.today:
            log.today, log.touched = today, NEVER
            bedlog.take(log, entries[len(read) :], place)
        if self._known is not None and (self._known.past.day != today or log.touched < today):
            self._known = None
        if self._anchor is not None and log.touched < self._anchor.day:
            self._anchor = None
        self._of, self._log, self._entries = (station, place), log, list(entries)
        return log

    def _goes_on(
        self, log: Log, station: Station, entries: Sequence[Entry], place: Place, today: int
    ) -> bool:
        """Tell whether days that no entry has touched since are as a reading all anew would have them."""
        return (
            self._of is not None
            and self._of[0] is station
            and self._of[1] is place
            and log.start_sure
            and (today == log.today or (not log.early and today >= log.day))
            and log.first_day == bedlog.first_day(station, entries, today)
        )

    def known(self, log: Log, place: Place) -> Known:
        """Give what is known of the bed this morning."""
        if self._known is None:
            self._known = self._morning(bedlog.before(log, log.today), place)
        return self._known

    def _morning(self, log: Log, place: Place) -> Known:
        warm, base = bedpast.warmths(log, place, self._walks), Rates()
        anchor = self._anchored(log, warm, base)
        past = bedpast.run_to(bedpast.copy(anchor.past), log.today, log, warm, base)
        belief = forecast.believe(past, log, warm, base, anchor.known)
        rates = belief.middle().rates
        return Known(
            warm, bedpast.run_to(bedpast.copy(anchor.past), log.today, log, warm, rates), belief, rates
        )

    def _anchored(self, log: Log, warm: Warmths, base: Rates) -> _Anchor:
        day = forecast.window(log)[1]
        until = day - log.first_day
        lived = tuple(days[:until] for path in warm for days in (path.mean_c, path.spread_c))
        clumping = rotation.clumping([scoops for count in log.counts for scoops in count.counts])
        old = self._anchor
        if old is None or (old.day, old.clumping, old.lived) != (day, clumping, lived):
            goes_on = old is not None and old.leads_to(day, lived)
            begun = bedpast.copy(old.past) if old is not None and goes_on else bedpast.start(log)
            past = bedpast.run_to(begun, day, log, warm, base)
            known = forecast.learn(past, log, warm, base)
            self._anchor = _Anchor(day, past, lived, known, clumping)
            return self._anchor
        return old

    def warm(self, log: Log, place: Place) -> Warmths:
        """Give the temperature of both sides by all readings, today's too."""
        known = self.known(log, place)
        readings = [*log.temperatures, log.airs]
        if not any(some and some[-1][0] == log.today for some in readings):
            return known.warm
        told = (log.today, *(len(some) for some in readings))
        if self._warm is None or self._warm[0] != told:
            self._warm = (told, bedpast.warmths(log, place, self._walks))
        return self._warm[1]


def _anew(
    old: Log, read: Sequence[Entry], station: Station, entries: Sequence[Entry], place: Place, today: int
) -> Log:
    """Read all anew, for entries came in between; tell the earliest day they touch."""
    log = bedlog.read(station, entries, place, today)
    same = next((at for at, pair in enumerate(zip(read, entries, strict=False)) if pair[0] != pair[1]), 0)
    days = [one.day for one in (*read[same:], *entries[same:])]
    days += [turn.day for turn in set(old.switches) ^ set(log.switches)]
    # Another side fed first is another bed already on the first morning.
    log.touched = min(days) if log.start_side == old.start_side else log.first_day - 1
    return log
