"""Tells people's phones what is due: once a matter, never in quiet hours, all of a morning in one message."""

import json
import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from cryptography.hazmat.primitives.asymmetric import ec

from fallowside.core import sources
from fallowside.core.shapes import Matter, PersonPlan, Plan
from fallowside.remind import calendar, carrier, clocks, phones, push, wording
from fallowside.remind.phones import Subscription
from fallowside.store import log
from fallowside.store.database import Database

_MOST_LINES = 5
_MOST_LETTERS = 120
_ANEW_DAYS = int(sources.value("remind.anew"))
_log = logging.getLogger("fallowside")


@dataclass(frozen=True, slots=True)
class Ringer:
    """Sends what is due to whoever let us.

    Attributes:
        database: Where subscriptions are, and what was told.
        plan: Gives the plan of the place, as of an instant in microseconds.
        key: Our own key.
        contact: How a push service reaches whoever runs this.
        bring: Brings a message to an endpoint with its headers; gives the status of the answer.
        lapse_us: A phone that hasn't called for so long is told nothing any more. [microseconds]
    """

    database: Database
    plan: Callable[[int], Plan]
    key: ec.EllipticCurvePrivateKey
    contact: str
    bring: Callable[[str, dict[str, str], bytes], int]
    lapse_us: int

    def ring(self, now_us: int) -> int:
        """Send what is due now; give the number of messages that were taken."""
        with self.database.read() as hand:
            place_n = log.place_number(hand)
            listed = [] if place_n is None else phones.subscriptions(hand, place_n, now_us - self.lapse_us)
        if place_n is None or not listed:
            return 0
        plan = self.plan(now_us)
        # A phone may take messages for somebody else than whose it is: both must be here.
        listed = [one for one in listed if not one.holder or calendar.person_of(plan, one.holder)]
        hour = clocks.now_at(plan, now_us).hour
        taken = 0
        for person in dict.fromkeys(one.person for one in listed):
            who = calendar.person_of(plan, person)
            mine = [one for one in listed if one.person == person]
            if who is not None and not clocks.is_quiet(who, hour):
                taken += self._tell(place_n, plan, who, hour, mine, now_us)
        return taken

    def _tell(
        self,
        place_n: int,
        plan: Plan,
        who: PersonPlan,
        hour: int,
        mine: Sequence[Subscription],
        now_us: int,
    ) -> int:
        with self.database.read() as hand:
            told = phones.told(hand, place_n, who["id"])
        over = told - still_told(plan)
        fresh = [one for one in due(plan, who, hour) if one["id"] not in told]
        taken = sum(self._send(place_n, one, fresh, plan, now_us) for one in mine) if fresh else 0
        if over or taken:
            with self.database.write() as hand:
                phones.forget(hand, place_n, who["id"], over)
                if taken:
                    phones.tell(hand, place_n, who["id"], [one["id"] for one in fresh], now_us)
        return taken

    def _send(
        self, place_n: int, to: Subscription, matters: Sequence[Matter], plan: Plan, now_us: int
    ) -> bool:
        body = push.seal(message(matters, plan, to.language), to.browser)
        authorization = push.token(to.browser.endpoint, self.key, self.contact, now_us)
        try:
            status = self.bring(to.browser.endpoint, carrier.headers(authorization), body)
        except push.BadSubscription:
            status = min(carrier.GONE)
        except OSError as error:
            # Tried again the next time; the address itself stays out of our log.
            _log.warning("a message to a phone could not be brought: %s", type(error).__name__)
            return False
        if status in carrier.GONE:
            with self.database.write() as hand:
                phones.end(hand, place_n, to.browser.endpoint)
        elif status >= 300:
            _log.warning("a push service answered %d", status)
        return status < 300


def due(plan: Plan, who: PersonPlan, hour: int) -> list[Matter]:
    """Give what a person is told of at an hour of the day.

    A limit that was crossed is told at once, the rest from their hour on; what is routine only to
    whoever walks today, where the roster names somebody.
    """
    walkers = plan["roster"]["days"][0]["people"]
    walks = not walkers or who["id"] in walkers
    return [
        one
        for one in plan["reminders"]
        if one["late"]
        and one["put_off_until"] is None
        and (one["kind"] == "limit" or hour >= clocks.told_at_hour(who))
        and (one["kind"] != "routine" or walks)
    ]


def still_told(plan: Plan) -> set[str]:
    """Give the matters that go on: not over, not put off, their day not moved far out again."""
    today = date.fromisoformat(plan["at"][:10])
    return {
        one["id"]
        for one in plan["reminders"]
        if one["put_off_until"] is None and (date.fromisoformat(one["remind"]) - today).days < _ANEW_DAYS
    }


def message(matters: Sequence[Matter], plan: Plan, language: str) -> bytes:
    """Write a message: a title, a line a matter, and the screen it opens."""
    lines = [wording.title(one, plan, language)[:_MOST_LETTERS] for one in matters[:_MOST_LINES]]
    if len(matters) > _MOST_LINES:
        lines.append(wording.say("remind.more", {"count": len(matters) - _MOST_LINES}, language))
    content = {
        "title": plan["place"]["name"][:_MOST_LETTERS] or "Fallowside",
        "body": "\n".join(lines),
        "count": len(matters),
        "path": "#/reminders",
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode()
