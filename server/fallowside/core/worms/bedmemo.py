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
from fallowside.core.worms import bedahead, bedcharts, bedlog, bedpast, forecast
from fallowside.core.worms.bedlog import NEVER, Log
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.forecast import Belief, Learned
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


@dataclass(frozen=True, slots=True)
class _Run:
    """A bed carried on with some rates from an anchor, as far as the next morning had the same days."""

    anchored: int
    rates: Rates
    past: Past


class Memo:
    """What one bed's looks leave to the next; a look with it gives what one without it would."""

    def __init__(self) -> None:
        self._of: tuple[Station, Place] | None = None
        self._entries: list[Entry] = []
        self._log: Log | None = None
        self._anchor: _Anchor | None = None
        self._known: Known | None = None
        self._learned: Learned | None = None
        self._runs: dict[str, list[_Run]] = {}
        self._lived: tuple[int, Warmths] | None = None
        self._touched = NEVER
        self._warm: tuple[tuple[int, ...], Warmths] | None = None
        self._walks = warmth.Kept(), warmth.Kept()
        self.drawn = bedcharts.Drawn()
        self.ahead = bedahead.Kept()

    def log(self, station: Station, entries: Sequence[Entry], place: Place, today: int) -> Log:
        """Read a bed's entries, from where an earlier reading ended if that may go on."""
        log, read = self._log, self._entries
        if log is None or not self._goes_on(log, station, entries, place, today):
            self._anchor = self._known = self._warm = self._learned = self._lived = None
            self._runs.clear()
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
        self._touched = min(self._touched, log.touched)
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
        same = self._same_until(log, warm)
        anchor = self._anchored(log, warm, base)
        past = self._run("base", anchor, same, log, warm, base)
        self._learned = forecast.believe(past, log, warm, base, anchor.known, self._learned)
        belief = self._learned.belief
        rates = belief.middle().rates
        return Known(warm, self._run("learned", anchor, same, log, warm, rates), belief, rates)

    def _same_until(self, log: Log, warm: Warmths) -> int:
        """Give the day before which all is as it was on the last morning."""
        lived, self._lived = self._lived, (log.today, warm)
        touched, self._touched = self._touched, NEVER
        if lived is None:
            return log.first_day
        day, was = lived
        for now, then in zip(warm, was, strict=True):
            pairs = zip(now.mean_c, then.mean_c, now.spread_c, then.spread_c, strict=False)
            others = (at for at, (one, other, its, that) in enumerate(pairs) if one != other or its != that)
            day = min(day, log.first_day + next(others, day))
        return min(day, touched, log.today)

    def _run(self, what: str, anchor: _Anchor, same: int, log: Log, warm: Warmths, rates: Rates) -> Past:
        """Carry the bed to this morning: from an earlier run if its days are the same, or from the anchor."""
        runs = self._runs.get(what, [])
        of = anchor.day, rates
        still = [one for one in runs if (one.anchored, one.rates) == of and one.past.day <= same]
        past = bedpast.copy(still[-1].past if still else anchor.past)
        bedpast.run_to(past, same, log, warm, rates)
        # A reading changes the days since the one before: until the next, that day is kept besides.
        settled = still[:1] if len(still) == len(runs) else []
        self._runs[what] = [*settled, _Run(anchor.day, rates, bedpast.copy(past))]
        return bedpast.run_to(past, log.today, log, warm, rates)

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
