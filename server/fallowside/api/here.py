"""The plan as of now, by the clock of the place and not of the server."""

import json

from fallowside.api import clock
from fallowside.core.shapes import Plan
from fallowside.exchange import folded
from fallowside.remind import clocks


def plan_now(kept: folded.Kept, now_us: int) -> Plan:
    """Plan for now; where the place has another day than the server, for the place's."""
    made: Plan = json.loads(kept.plan_text(clock.local_text(now_us)))
    at = clocks.now_at(made, now_us).replace(microsecond=0).isoformat()
    if at[:10] != made["at"][:10]:
        made = json.loads(kept.plan_text(at))
    return made
