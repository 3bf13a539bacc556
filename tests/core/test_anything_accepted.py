"""Whatever the judge lets through, however odd, the plan stands: no accepted entry stops it."""

import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallowside.core.plan import plan_json
from tests.anything import logs_of_anything
from tests.logs import Raw


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(logs_of_anything(), st.sampled_from(["2026-03-02T08:00:00+02:00", "2026-09-15T18:00:00+02:00"]))
def test_no_log_the_judge_believes_stops_the_plan(log: list[Raw], at: str) -> None:
    made = json.loads(plan_json(log, at))
    assert made["made_from"]["entries"] > 0
