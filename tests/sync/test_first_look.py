"""The first look: what it takes, the judge takes as it stands; and what phones mostly send, it takes."""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core import entries
from fallowside.core.entries import FUTURE_US, read
from fallowside.core.place import fold
from fallowside.store import log
from fallowside.sync import call, first_look
from fallowside.sync.content import SERVERS_FIELDS
from tests.anything import logs_of_anything
from tests.logs import Raw, kg, logs, setups
from tests.stores import NOW_US, feed

KNOWN = fold([read(one) for one in setups()]).known()
LATE_US = NOW_US + 400 * entries.DAY_US
"""After all that is drawn here."""

Pairs = list[tuple[str, str]]
"""An object of JSON: names and values as written, a name perhaps twice."""

WRITTEN = st.sampled_from(
    [
        "null", "true", "0", "-0.0", "1", "1.0", "1e2", "-1", "1e999", "NaN", "1" + "0" * 400,
        "9007199254740993",
        '""', '"a"', '"bed"', '"pond"', '"attic"', '"caddy"', '"bread"', '"moon cheese"', '"kg"', '"gallon"',
        '"\\ud800"', '"\\u0000"', '"x\\n"', '"bed\\n"', '"\\u0062ed"', f'"{"9" * 65}"', f'"{"9" * 201}"',
        f'"{"9" * 4001}"', '"feed"', '"reading"', '"setup"', '"2026-02-30T07:30:00Z"',
        '"2026-03-01t07:30:00z"', '"2026-03-01 07:30:00Z"', '"2026-03-01T07:30Z"', '"2126-03-01T07:30:00Z"',
        "[]", "{}", "[1]", '["a"]', '["mites"]', '[1.0]', '{"value": 1, "unit": "kg", "container": "caddy"}',
        '{"value": 1, "value": 1e9, "unit": "kg"}', '{"value": 1, "unit": "kg", "unit": "L"}',
        '{"value": true, "unit": "kg"}', '{"value": 1, "unit": "furlong"}', '{"container": "barrel"}',
        '{"value": 0, "unit": "kg"}', '{"value": 1000, "unit": "kg"}', '{"value": 1000.0001, "unit": "kg"}',
        '{"unit": "kg"}', '{"value": 1, "unit": "L"}', '{"value": 1, "unit": "kg", "more": "\\udfff"}',
    ]
)  # fmt: skip


def pairs(raw: Raw) -> Pairs:
    return [(name, json.dumps(value)) for name, value in raw.items()]


def written(some: Pairs) -> bytes:
    # A name may be spelled with escapes too, so it is written as it comes.
    return b"{" + ", ".join(f'"{name}": {value}' for name, value in some).encode() + b"}"


@st.composite
def spoilt(draw: st.DrawFn, raw: Raw) -> bytes:
    """Write an entry with up to three things changed, put in twice, or left out."""
    some = pairs(raw)
    for _ in range(draw(st.integers(0, 3))):
        at = draw(st.integers(0, len(some) - 1)) if some else 0
        match draw(st.sampled_from(["change", "again", "drop", "newer", "swap"])):
            case "change" if some:
                some[at] = some[at][0], draw(WRITTEN)
            case "again" if some:
                some.insert(draw(st.integers(0, len(some))), (some[at][0], draw(WRITTEN)))
            case "drop" if some:
                del some[at]
            case "swap" if some:
                some.append(some.pop(at))
            case _:
                name = draw(st.sampled_from(["seq", "received_at", "newer", "note", "side", "k\\u0069nd"]))
                some.append((name, draw(WRITTEN)))
    return written(some)


def assert_the_judge_takes(body: bytes, seen: first_look.Seen, now_us: int) -> None:
    (doc,), flaws = call.parsed([body])
    assert not flaws
    assert entries.problem(doc, now_us=now_us, known=KNOWN) is None
    assert (seen.id, seen.kind, seen.at) == (doc["id"], doc["kind"], doc["at"])
    assert SERVERS_FIELDS.isdisjoint(doc)
    assert doc["kind"] not in log.SETUP_KINDS


@given(logs_of_anything(), st.data())
def test_what_it_takes_the_judge_takes(made: list[Raw], data: st.DataObject) -> None:
    bodies = [data.draw(spoilt(raw)) for raw in made]
    alone = [first_look.look([body], KNOWN, NOW_US)[0] for body in bodies]
    for found in (alone, first_look.look(bodies, KNOWN, NOW_US)):
        for body, seen in zip(bodies, found, strict=True):
            if seen is not None:
                assert_the_judge_takes(body, seen, NOW_US)


@given(logs_of_anything())
def test_it_takes_all_good_entries_of_a_kind_or_says_none_is_for_sure(made: list[Raw]) -> None:
    bodies = [written(pairs(raw)) for raw in made]
    found = first_look.look(bodies, KNOWN, LATE_US)
    for body, seen in zip(bodies, found, strict=True):
        if seen is not None:
            assert_the_judge_takes(body, seen, LATE_US)


@given(logs())
def test_what_phones_mostly_send_is_taken(made: list[Raw]) -> None:
    usual = [raw for raw in made if raw["kind"] in TOLD and "container" not in raw.get("amount", ())]
    assert None not in first_look.look([written(pairs(raw)) for raw in usual], KNOWN, LATE_US)


TOLD = {name for name, kind in entries.spec()["kinds"].items() if kind["stations"]}


@pytest.mark.parametrize(
    "changed",
    [
        {"id": "two words"},
        {"id": "x\n"},
        {"at": "2026-02-30T07:30:00Z"},
        {"amount": kg(0)},
        {"amount": kg(1001)},
        {"amount": {"value": 1, "unit": "furlong"}},
        {"feedstock": "moon_cheese"},
        {"station": "attic"},
        {"side": "left"},
        {"note": "n" * 4001},
        {"by": 5},
        {"kind": "question", "text": "?" * 201},
        {"newer": "than the service"},
        {"seq": 3},
    ],
)
def test_one_it_can_not_tell_among_good_ones_is_left_to_the_judge(changed: Mapping[str, Any]) -> None:
    bodies = [written(pairs(feed(number))) for number in range(3)]
    bodies[1] = written(pairs(feed(1, **changed)))
    assert first_look.look(bodies, KNOWN, NOW_US)[1] is None


def test_of_two_fields_of_which_one_must_be_there_one_is_asked_for() -> None:
    reading = {"id": "r", "kind": "reading", "at": feed(0)["at"], "station": "pond"}
    warm = {**reading, "id": "w", "temperature": {"value": 20, "unit": "degC"}}
    assert None not in first_look.look([written(pairs(warm))], KNOWN, NOW_US)
    for both in ([warm, reading], [reading, warm]):
        found = first_look.look([written(pairs(one)) for one in both], KNOWN, NOW_US)
        assert found[both.index(reading)] is None


def test_an_entry_is_taken_up_to_a_quarter_of_an_hour_ahead() -> None:
    body = written(pairs(feed(0)))
    us = entries.moment(feed(0)["at"]).us
    assert first_look.look([body], KNOWN, us - FUTURE_US) != [None]
    assert first_look.look([body], KNOWN, us - FUTURE_US - 1) == [None]


def test_a_volume_of_what_nobody_has_weighed_is_left_to_the_judge() -> None:
    known = replace(KNOWN, densities=KNOWN.densities - {"bread"})
    kilos, litres = feed(1), feed(2, amount={"value": 1, "unit": "L"})
    assert first_look.look([written(pairs(kilos))], known, NOW_US) != [None]
    for both in ([kilos, litres], [litres, kilos]):
        found = first_look.look([written(pairs(one)) for one in both], known, NOW_US)
        assert found[both.index(litres)] is None
