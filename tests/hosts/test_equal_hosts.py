"""The server's Python and the phone's make the same of the same: plans to the byte, functions to the bit.

The phone's is CPython 3.14 compiled to WebAssembly, with another C library and other compilers behind
it; in Node it computes the same bits as in Chromium. Whether the app as a whole gives equal plans is
for the browser's tests to say.
"""

import json
import runpy
import sys
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from fallowside.core.plan import Fold, plan_json
from fallowside.exchange import demo
from tests.hosts import function_bits
from tests.hosts.conftest import PhoneHost
from tests.logs import AT, Raw, logs

ROOT = Path(__file__).parents[2]
FREEZE = runpy.run_path(str(ROOT / "fixtures" / "freeze_plans.py"))
FEW = settings(
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
"""Each example is a hundred days planned on two hosts: few, and the first that fails is shown as it is."""


def text_of(entries: list[Raw]) -> str:
    return json.dumps(entries, ensure_ascii=False)


def test_the_phones_python_is_another_one(phone_host: PhoneHost) -> None:
    assert phone_host.run("import sys; sys.platform") == "emscripten"
    assert phone_host.run("sys.version_info[1]") != sys.version_info[1]


@pytest.mark.parametrize("name", sorted(FREEZE["about"]()))
def test_a_golden_log_gives_the_same_plan_to_the_byte(phone_host: PhoneHost, name: str) -> None:
    log, at = FREEZE["log"](name), FREEZE["about"]()[name]["at"]
    assert phone_host.plan([text_of(log)], at) == plan_json(log, at)


def test_the_demo_gives_the_same_plan_to_the_byte(phone_host: PhoneHost) -> None:
    log = demo.entries(date(2026, 6, 15))
    assert phone_host.plan([text_of(log)], AT) == plan_json(log, AT)


@FEW
@given(logs(most=25), st.data())
def test_any_log_gives_the_same_plan_to_the_byte_in_whatever_order_and_pieces_the_phone_has_it(
    phone_host: PhoneHost, log: list[Raw], data: st.DataObject
) -> None:
    shuffled = data.draw(st.permutations(log))
    cut = data.draw(st.integers(0, len(log)))
    pieces = [text_of(shuffled[:cut]), text_of(shuffled[cut:])]
    assert phone_host.plan(pieces, AT) == plan_json(log, AT)


@FEW
@given(logs(most=25))
def test_a_plan_is_equal_after_the_page_has_read_and_written_the_log(
    phone_host: PhoneHost, log: list[Raw]
) -> None:
    # JavaScript writes 2.0 as 2, so a value shown as it was entered may differ in its text, never in itself.
    said = json.loads(phone_host.plan([text_of(log)], AT, rewritten=True))
    assert said == json.loads(plan_json(log, AT))


@FEW
@given(logs(most=25), st.integers(1, 20))
def test_a_log_kept_read_on_the_phone_plans_one_more_entry_as_the_server_plans_all(
    phone_host: PhoneHost, log: list[Raw], late: int
) -> None:
    phone_host.plan([text_of(log[:-late])], AT)
    assert phone_host.plan([text_of(log[-late:])], AT, kept=True) == plan_json(log, AT)


def test_the_log_kept_read_on_the_server_agrees_too() -> None:
    log = demo.entries(date(2026, 6, 15))
    kept = Fold(log[:-40])
    kept.plan(AT)
    kept.add(log[-40:])
    assert kept.plan_json(AT) == plan_json(log, AT)


def test_functions_of_the_core_give_the_same_bits(phone_host: PhoneHost) -> None:
    phone_host.run(Path(function_bits.__file__).read_text(encoding="utf-8"))
    assert json.loads(phone_host.run("results()")) == json.loads(function_bits.results())
