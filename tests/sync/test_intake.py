"""The door: what is accepted, what is held and let in later, what is handed out."""

from typing import Any

import pytest

from fallowside.core.entries import FUTURE_US
from fallowside.store import held, log
from fallowside.store.database import Database
from fallowside.sync import intake as intakes
from fallowside.sync import reply
from fallowside.sync.intake import Intake
from tests.logs import Raw, entry, kg, setups, time
from tests.stores import MINUTE_US, NOW_US, codes, feed, ids, logged, send

pytestmark = pytest.mark.both_databases

NAN = float("nan")
STATION = {"id": "s-new", "what": "station", "item": "new", "set": {"type": "bed"}}


def states(database: Database) -> list[tuple[str | None, str]]:
    with database.read() as hand:
        return [tuple(row) for row in hand.rows("SELECT id, state FROM held ORDER BY n")]


# -- accepting -----------------------------------------------------------------------------------


def test_a_set_up_and_entries_that_need_it_come_in_one_call_in_any_order(intake: Intake) -> None:
    assert len(send(intake, [feed(1), *setups(), feed(2)]).accepted) == len(setups()) + 2


def test_a_call_sent_again_changes_nothing_and_is_accepted_again(database: Database, intake: Intake) -> None:
    call = [*setups(), *map(feed, range(5))]
    first, second = send(intake, call), send(intake, call)
    assert second.accepted == first.accepted
    assert second.new == 0
    assert len(logged(database)) == len(call)


def test_an_entry_twice_in_one_call_is_stored_once(database: Database, intake: Intake) -> None:
    send(intake, setups())
    outcome = send(intake, [feed(1), feed(2), feed(1)])
    assert set(outcome.accepted) == {"feed-1", "feed-2"}
    assert not outcome.held
    assert len(logged(database)) == len(setups()) + 2


def test_known_entries_behind_many_new_ones_are_found_and_all_are_stored_once(
    database: Database, intake: Intake
) -> None:
    send(intake, [*setups(), feed(1), feed(2)])
    call = [*map(feed, range(100, 220)), feed(1), feed(2, amount=kg(2)), feed(300)]
    outcome = send(intake, call)
    assert set(outcome.accepted) == {one["id"] for one in call} - {"feed-2"}
    assert codes(outcome) == [("feed-2", "id_taken", "id")]
    assert outcome.new == 121
    assert [line.seq for line in log.lines(database)] == list(range(1, len(setups()) + 124))
    assert ids(list(log.lines(database)))[-122:-120] == ["feed-2", "feed-100"]
    assert send(intake, [feed(301)]).accepted == ["feed-301"]


def test_the_same_content_written_otherwise_is_the_same(intake: Intake) -> None:
    send(intake, [*setups(), feed(1, amount={"value": 1, "unit": "kg"})])
    again = send(intake, [dict(reversed(feed(1, amount={"unit": "kg", "value": 1.0}).items()))])
    assert again.accepted == ["feed-1"]


def test_true_is_not_one(intake: Intake) -> None:
    send(intake, [*setups(), feed(1, extra=1)])
    assert codes(send(intake, [feed(1, extra=True)])) == [("feed-1", "id_taken", "id")]


def test_what_comes_back_with_the_servers_fields_is_the_same_entry(
    database: Database, intake: Intake
) -> None:
    send(intake, setups())
    handed_out = {**feed(1), "seq": 99, "received_at": "2026-06-01T00:00:00Z"}
    assert send(intake, [handed_out]).accepted == ["feed-1"]
    assert send(intake, [feed(1)]).accepted == ["feed-1"]
    assert logged(database)[-1] == feed(1)


def test_the_same_id_with_other_content_is_held_and_the_first_stays(
    database: Database, intake: Intake
) -> None:
    send(intake, [*setups(), feed(1)])
    outcome = send(intake, [feed(1, amount=kg(2)), feed(2)], device="other")
    assert outcome.accepted == ["feed-2"]
    assert codes(outcome) == [("feed-1", "id_taken", "id")]
    assert feed(1) in logged(database)


def test_kinds_and_fields_of_a_newer_phone_are_kept_untouched(database: Database, intake: Intake) -> None:
    newer = entry("from_2031", 3, station="nowhere", glow={"deep": [1, 2.50, None]})
    send(intake, [newer])
    assert logged(database) == [newer]


def test_a_call_without_entries_to_an_empty_store_is_answered(intake: Intake) -> None:
    outcome = send(intake)
    assert (outcome.cursor, outcome.more, list(outcome.lines)) == (0, False, [])


# -- bad input -----------------------------------------------------------------------------------

BAD: list[tuple[str, Any, str, str]] = [
    ("wrong unit", feed(9, amount={"value": 2, "unit": "degC"}), "bad_unit", "amount.unit"),
    ("unknown unit", feed(9, amount={"value": 2, "unit": "buckets"}), "bad_unit", "amount.unit"),
    ("negative", feed(9, amount=kg(-2)), "out_of_range", "amount"),
    ("absurd", feed(9, amount=kg(1e6)), "out_of_range", "amount"),
    ("nothing at all", feed(9, amount=kg(0)), "nothing", "amount"),
    ("not a number", feed(9, amount=kg(NAN)), "bad_type", "amount.value"),
    ("NaN where nobody looks", feed(9, extra=NAN), "not_json", ""),
    ("half a letter", feed(9, note="\ud83d"), "not_json", ""),
    ("unknown station", feed(9, station="moon"), "unknown_station", "station"),
    ("wrong station", feed(9, station="hive"), "wrong_station", "station"),
    ("unknown feedstock", feed(9, feedstock="gravel"), "unknown_feedstock", "feedstock"),
    ("future", feed(9, at="2027-01-01T00:00:00Z"), "in_the_future", "at"),
    ("no time", feed(9, at="this morning"), "bad_time", "at"),
    ("long note", feed(9, note="x" * 5000), "too_long", "note"),
    ("no id", {"kind": "feed"}, "bad_name", "id"),
    ("id of a number", feed(9, id=9), "bad_name", "id"),
    ("id with a zero byte", feed(9, id="a\0b"), "bad_name", "id"),
    ("a list", [1, 2], "not_an_object", ""),
    ("a word", "feed", "not_an_object", ""),
    ("nothing", None, "not_an_object", ""),
]


@pytest.mark.parametrize(("bad", "code", "field"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_a_bad_entry_is_held_with_what_to_mend_and_the_rest_is_accepted(
    database: Database, intake: Intake, bad: Any, code: str, field: str
) -> None:
    send(intake, setups())
    outcome = send(intake, [feed(1), bad, feed(2)])
    assert outcome.accepted == ["feed-1", "feed-2"]
    ((one),) = outcome.held
    assert (one.index, one.problem.code, one.problem.field) == (1, code, field)
    assert one.problem.message
    with database.read() as hand:
        (kept,) = held.waiting(hand, 1)
    assert kept.ref == one.ref
    reply.written(outcome)


def test_a_call_of_nothing_but_bad_entries_holds_them_all(intake: Intake) -> None:
    outcome = send(intake, [row[1] for row in BAD])
    assert [one.index for one in outcome.held] == list(range(len(BAD)))


# -- held entries --------------------------------------------------------------------------------


def test_a_held_entry_sent_again_is_held_once(database: Database, intake: Intake) -> None:
    first = send(intake, [feed(1), {"no": "id"}, 5])
    again = send(intake, [feed(1), {"no": "id"}, 5])
    assert [one.ref for one in again.held] == [one.ref for one in first.held]
    assert len(states(database)) == 3


def test_a_held_entry_is_let_in_when_its_station_is_set_up(database: Database, intake: Intake) -> None:
    send(intake, [feed(1), feed(2, station="moon")], device="helper")
    outcome = send(intake, setups(), device="host")
    assert outcome.let_in == ["feed-1"]
    assert "feed-1" in ids(outcome.lines)
    assert outcome.cursor == len(setups()) + 1
    assert states(database) == [("feed-1", "accepted"), ("feed-2", "waiting")]


def test_a_set_up_that_was_held_lets_others_in_when_it_is_good(database: Database, intake: Intake) -> None:
    ahead = time(107 * 24 * 60)
    send(intake, [{**entry("setup", 0, **STATION), "id": "s-new", "at": ahead}, feed(1, station="new")])
    send(intake, [feed(2, station="new")])
    late = send(intake, setups(), now_us=NOW_US + 3 * 24 * 60 * MINUTE_US)
    assert sorted(late.let_in) == ["feed-1", "feed-2", "s-new"]
    assert {state for _, state in states(database)} == {"accepted"}


def test_what_a_call_holds_and_then_lets_in_is_told_as_accepted(database: Database, intake: Intake) -> None:
    send(intake, setups())
    send(intake, [{**entry("setup", 0, **STATION), "id": "s-new", "at": time(107 * 24 * 60)}], device="host")
    late = send(intake, [feed(1, station="new")], now_us=NOW_US + 3 * 24 * 60 * MINUTE_US)
    assert (late.accepted, list(late.held)) == (["feed-1"], [])
    assert sorted(late.let_in) == ["feed-1", "s-new"]
    assert "feed-1" not in ids(late.lines)
    assert states(database) == [("s-new", "accepted"), ("feed-1", "accepted")]


def test_an_entry_from_the_future_is_let_in_when_its_time_has_come(intake: Intake) -> None:
    send(intake, setups())
    early = feed(1, at=time(107 * 24 * 60))
    assert codes(send(intake, [early])) == [("feed-1", "in_the_future", "at")]
    assert send(intake, [feed(2)]).let_in == []
    assert send(intake, [feed(3)], now_us=NOW_US + 2 * 24 * 60 * MINUTE_US).let_in == ["feed-1"]


def test_a_mended_entry_takes_the_place_of_the_held_one(database: Database, intake: Intake) -> None:
    send(intake, setups())
    send(intake, [feed(1, amount=kg(-1))])
    send(intake, [feed(1, amount=kg(-2))])
    assert send(intake, [feed(1, amount=kg(2))]).accepted == ["feed-1"]
    assert states(database) == [("feed-1", "mended"), ("feed-1", "mended")]


def test_a_clash_of_ids_waits_on_when_the_other_device_sends_again(
    database: Database, intake: Intake
) -> None:
    send(intake, [*setups(), feed(1)], device="one")
    send(intake, [feed(1, amount=kg(2))], device="two")
    send(intake, [feed(1)], device="one")
    assert states(database) == [("feed-1", "waiting")]


def test_two_devices_that_hold_the_same_id_both_wait_and_one_is_let_in(
    database: Database, intake: Intake
) -> None:
    send(intake, [feed(1)], device="one")
    send(intake, [feed(1, amount=kg(2))], device="two")
    assert send(intake, setups()).let_in == ["feed-1"]
    assert states(database) == [("feed-1", "accepted"), ("feed-1", "waiting")]
    assert feed(1) in logged(database)


def test_what_waits_for_a_second_reason_says_so(database: Database, intake: Intake) -> None:
    send(intake, [feed(1, amount=kg(NAN))])
    send(intake, setups())
    with database.read() as hand:
        (one,) = held.waiting(hand, 1)
    assert (one.code, one.field) == ("bad_type", "amount.value")


def test_an_entry_set_aside_for_good_is_not_held_anew(database: Database, intake: Intake) -> None:
    send(intake, [feed(1)])
    with database.write() as hand:
        held.settle(hand, [(1, None)], held.DROPPED, NOW_US)
    assert codes(send(intake, [feed(1)])) == [("feed-1", "unknown_station", "station")]
    assert states(database) == [("feed-1", "dropped")]
    assert send(intake, setups()).let_in == []


def test_what_was_once_set_up_can_still_be_pointed_to(intake: Intake) -> None:
    # So a log is accepted the same in whatever order, and however cut, it is loaded.
    gone = entry("correction", 9, of="setup-station-bed", action="retract")
    send(intake, [*setups(), gone])
    assert send(intake, [feed(1)]).accepted == ["feed-1"]


def test_a_station_renamed_by_a_correction_can_be_pointed_to(intake: Intake) -> None:
    send(intake, setups())
    renamed = entry("correction", 9, of="setup-station-bed", action="replace", **{"with": {"item": "trough"}})
    assert send(intake, [feed(1, station="trough"), renamed]).accepted[-1] == renamed["id"]
    assert send(intake, [feed(2, station="trough"), feed(3)]).accepted == ["feed-2", "feed-3"]


def test_a_feedstock_likened_to_nothing_known_spoils_no_call(intake: Intake) -> None:
    odd = entry("setup", 1, what="feedstock", item="odd", set={"like": "moonstone"})
    send(intake, [*setups(), {**odd, "id": "odd"}])
    assert send(intake, [feed(1)]).accepted == ["feed-1"]


def test_what_another_program_sets_up_is_learnt(database: Database, intake: Intake) -> None:
    send(intake, [feed(1)])
    send(Intake(database), setups())
    assert send(intake, [feed(2)]).accepted == ["feed-2"]


# -- handing out ---------------------------------------------------------------------------------


def test_a_device_gets_what_others_sent_and_not_its_own(intake: Intake) -> None:
    send(intake, setups(), device="host")
    outcome = send(intake, [feed(1)], device="helper")
    assert ids(outcome.lines) == [one["id"] for one in setups()]
    assert outcome.cursor == len(setups()) + 1
    assert list(send(intake, device="helper", cursor=outcome.cursor).lines) == []


def test_a_long_log_is_handed_out_in_parts(intake: Intake, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(intakes, "MOST_HANDED_OUT", 4)
    send(intake, [*setups(), *map(feed, range(10))])
    cursor, seen, more = 0, [], True
    while more:
        outcome = send(intake, device="new", cursor=cursor)
        seen += ids(outcome.lines)
        cursor, more = outcome.cursor, outcome.more
    assert seen == [one["id"] for one in setups()] + [f"feed-{n}" for n in range(10)]


def test_own_entries_are_left_out_also_of_a_long_answer(
    intake: Intake, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intakes, "MOST_HANDED_OUT", 4)
    send(intake, setups(), device="host")
    own = [feed(n) for n in range(6)]
    first = send(intake, own)
    assert first.more
    assert not set(ids(first.lines)) & set(first.accepted)


def test_a_cursor_of_another_log_starts_at_the_head(intake: Intake) -> None:
    send(intake, setups())
    everything = [one["id"] for one in setups()]
    assert ids(send(intake, cursor=5, log="another").lines) == everything
    assert ids(send(intake, cursor=10_000).lines) == everything


def test_an_entry_handed_out_carries_its_seq_and_when_it_came(intake: Intake) -> None:
    import json

    send(intake, setups())
    answer = json.loads(reply.written(send(intake, device="new")))
    assert [one["seq"] for one in answer["entries"]] == list(range(1, len(setups()) + 1))
    assert answer["entries"][0]["received_at"] == "2026-06-15T16:00:00.000Z"
    assert {
        key: value for key, value in answer["entries"][0].items() if key not in ("seq", "received_at")
    } == (setups()[0])


# -- clocks --------------------------------------------------------------------------------------


def sent_at(off_minutes: float) -> str:
    return reply.instant(NOW_US + round(off_minutes * MINUTE_US))


def test_the_future_is_judged_by_the_clock_of_the_device(database: Database, intake: Intake) -> None:
    send(intake, setups())
    ahead: Raw = feed(1, at=sent_at(600))
    assert codes(send(intake, [ahead])) == [("feed-1", "in_the_future", "at")]
    assert send(intake, [ahead], sent_at=sent_at(601)).accepted == ["feed-1"]
    with database.read() as hand:
        assert hand.value("SELECT skew_ms FROM entry WHERE id = 'feed-1'") == -601 * 60_000


def test_a_clock_that_is_behind_makes_no_entry_of_its_own_time_future(intake: Intake) -> None:
    send(intake, setups())
    behind = sent_at(-60 * 24 * 50)
    assert send(intake, [feed(1, at=behind)], sent_at=behind).accepted == ["feed-1"]


@pytest.mark.parametrize(("off_minutes", "told"), [(1.9, None), (-1.9, None), (3, -180), (-60, 3600)])
def test_a_clock_off_by_more_than_two_minutes_is_told(
    intake: Intake, off_minutes: float, told: int | None
) -> None:
    import json

    answer = json.loads(reply.written(send(intake, sent_at=sent_at(off_minutes))))
    assert answer.get("clock_skew_s") == told


def test_a_little_ahead_is_believed(intake: Intake) -> None:
    send(intake, setups())
    soon = reply.instant(NOW_US + FUTURE_US - 1_000_000)
    assert send(intake, [feed(1, at=soon)]).accepted == ["feed-1"]


def test_log_of_nothing_is_empty(database: Database) -> None:
    assert list(log.lines(database)) == []
