"""The judge of entries: what is held, with which field to mend; what passes untouched."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core.corrections import amendments, first_of
from fallowside.core.entries import FUTURE_US, Entry, examine, examine_all, moment, parted, problem, read
from fallowside.core.instants import instants, latest
from fallowside.core.place import fold
from fallowside.core.plan import plan
from tests.logs import AT, Raw, entry, kg, logs, setups

KNOWN = fold([read(one) for one in setups()]).known()


def feed(**fields: Any) -> Raw:
    return entry(
        "feed", 5, **{"station": "bed", "side": "a", "feedstock": "bread", "amount": kg(1), **fields}
    )


def found(raw: object, **how: Any) -> tuple[str, str]:
    bad = problem(raw, known=KNOWN, **how)
    assert bad is not None
    assert bad.message
    return bad.code, bad.field


def test_a_good_entry_passes() -> None:
    assert problem(feed(), known=KNOWN, now_us=moment(AT).us) is None


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"amount": {"value": 2, "unit": "degC"}}, "bad_unit", "amount.unit"),
        ({"amount": {"value": 2, "unit": "furlongs"}}, "bad_unit", "amount.unit"),
        ({"amount": kg(-1)}, "out_of_range", "amount"),
        ({"amount": kg(0)}, "nothing", "amount"),
        ({"amount": kg(1e9)}, "out_of_range", "amount"),
        ({"amount": kg(float("nan"))}, "bad_type", "amount.value"),
        ({"amount": kg(float("inf"))}, "bad_type", "amount.value"),
        ({"amount": kg(10**400)}, "bad_type", "amount.value"),
        ({"amount": {"value": True, "unit": "kg"}}, "bad_type", "amount.value"),
        ({"amount": 3}, "bad_type", "amount"),
        ({"amount": None}, "missing", "amount"),
        ({"amount": {"container": "barrel"}}, "unknown_container", "amount"),
        ({"amount": {"container": "caddy", "filled": 0}}, "out_of_range", "amount.filled"),
        ({"feedstock": "moon_cheese"}, "unknown_feedstock", "feedstock"),
        ({"station": "attic"}, "unknown_station", "station"),
        ({"station": None}, "missing", "station"),
        ({"station": "hive"}, "wrong_station", "station"),
        ({"side": None}, "missing", "side"),
        ({"side": "left"}, "bad_choice", "side"),
        ({"at": "2026-13-01T00:00:00Z"}, "bad_time", "at"),
        ({"at": "2026-03-01T00:00:00"}, "bad_time", "at"),
        ({"at": "1926-03-01T00:00:00Z"}, "bad_time", "at"),
        ({"at": "2026-03-01T24:00:00+02:00"}, "bad_time", "at"),
        ({"at": "2026-03-01T07:30:00+02:60"}, "bad_time", "at"),
        ({"at": 5}, "bad_time", "at"),
        ({"id": ""}, "bad_name", "id"),
        ({"id": "a b"}, "bad_name", "id"),
        ({"note": "x" * 5000}, "too_long", "note"),
        ({"by": 4}, "bad_type", "by"),
    ],
)
def test_a_bad_entry_says_which_field_to_mend(changed: Raw, code: str, field: str) -> None:
    assert found(feed(**changed)) == (code, field)


def test_fahrenheit_typed_as_celsius_is_asked_back() -> None:
    hot = entry("reading", 5, station="bed", side="a", temperature={"value": 140, "unit": "degC"})
    bad = problem(hot, known=KNOWN)
    assert bad is not None
    assert bad.code == "out_of_range"
    assert "60 °C" in bad.message


def test_a_count_with_a_part_of_one_is_told_what_it_is_and_what_is_asked_for() -> None:
    harvest = entry("self_harvest", 1, station="bin", count=1.5)
    bad = problem(harvest)
    assert bad is not None
    assert (bad.code, bad.field, bad.values) == ("not_whole", "count", {"value": 1.5})
    assert bad.message == "`count` is 1.5; a whole number is asked for"
    for other in (float("nan"), "three", True):
        assert found({**harvest, "count": other}) == ("bad_type", "count")


def test_a_date_in_the_future_is_held_and_a_slightly_fast_clock_is_not() -> None:
    at = moment(feed()["at"]).us
    assert found(feed(), now_us=at - FUTURE_US - 1) == ("in_the_future", "at")
    assert problem(feed(), known=KNOWN, now_us=at - FUTURE_US) is None


def test_unknown_kinds_fields_and_open_words_pass() -> None:
    assert problem(entry("dance", 1, tempo=4), known=KNOWN) is None
    assert problem(feed(sparkle=[1, {"a": 2}]), known=KNOWN) is None
    assert problem(entry("signs", 1, station="bed", side="a", signs=["glowing"]), known=KNOWN) is None


@pytest.mark.parametrize("given", [["bread"], {"name": "bread"}, "bread of another kind", 5])
def test_a_feedstock_in_an_entry_that_moves_none_is_left_to_a_newer_phone(given: object) -> None:
    seen = entry("reading", 5, station="bed", side="a", ph=7.0, feedstock=given, amount={"of": given})
    assert problem(seen, known=KNOWN) is None
    assert plan([*setups(), seen], AT)["made_from"]["set_aside"] == []


def test_a_bed_entry_needs_a_side_and_a_bin_entry_does_not() -> None:
    assert found(entry("leftover", 1, station="bed", left="some")) == ("missing", "side")
    assert problem(entry("leftover", 1, station="bin", left="some"), known=KNOWN) is None


def test_a_reading_of_nothing_is_not_a_reading() -> None:
    assert found(entry("reading", 1, station="bed", side="a")) == ("missing", "temperature")


_json = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@given(_json)
def test_any_json_is_judged_without_an_exception(raw: object) -> None:
    assert problem(raw, known=KNOWN, now_us=0) is not None


@given(logs(most=8), st.data())
def test_an_entry_with_any_field_spoilt_is_judged_without_an_exception(
    log: list[Raw], data: st.DataObject
) -> None:
    raw = dict(data.draw(st.sampled_from(log)))
    raw[data.draw(st.sampled_from(sorted(raw)))] = data.draw(_json)
    bad = problem(raw, known=KNOWN, now_us=moment(AT).us)
    if bad is None:
        read(raw)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (10**400, "one as large as this"),
        (float("-inf"), "one as large as this"),
        (float("nan"), "NaN"),
        ("7", "text"),
        (True, "true or false"),
    ],
)
def test_what_stands_where_a_number_should_is_named(value: object, said: str) -> None:
    plain = problem(entry("reading", 5, station="pond", ph=value))
    with_unit = problem(feed(amount={"value": value, "unit": "kg"}))
    assert plain is not None
    assert with_unit is not None
    assert plain.message == f"`ph` is a number, not {said}"
    assert with_unit.message == f"the value of `amount` is a number, not {said}"


_near: st.SearchStrategy[Any] = st.sampled_from(
    [
        None, True, 1, 0, -1, 1e9, float("nan"), "", "x", "a", "bed", "pond", [], {}, "2026-02-30",
        {"value": True, "unit": "kg"}, {"value": 0, "unit": "kg"}, {"value": 1, "unit": ["kg"]},
        {"value": 1, "unit": "kg", "container": "nobody's"}, {"container": "nobody's"}, "9" * 65,
    ]
)  # fmt: skip


@given(logs(most=12), st.data())
def test_many_entries_judged_at_once_are_judged_as_one_by_one(log: list[Raw], data: st.DataObject) -> None:
    alike = [{**raw, "id": f"{raw['id']}.{number}"} for raw in log for number in range(3)]
    good, rest = examine_all(parted(alike), KNOWN)
    assert {raw["kind"] for raw in rest}.isdisjoint({"feed", "water", "reading", "leftover", "side_count"})

    for _ in range(data.draw(st.integers(1, 4))):
        spoilt = data.draw(st.sampled_from(alike))
        spoilt[data.draw(st.sampled_from(sorted(spoilt)))] = data.draw(_near | _json)
    good, rest = examine_all(parted(alike), KNOWN)
    assert sorted(map(id, [*(one.data for one in good), *rest])) == sorted(map(id, alike))
    for one in good:
        assert examine(one.data, known=KNOWN) == one


def test_one_bad_amount_among_many_alike_is_found() -> None:
    feeds = [feed(id=f"feed-{number}", amount=kg(1)) for number in range(2500)]
    feeds[1700]["amount"] = {"value": True, "unit": "kg"}
    good, rest = examine_all(parted(feeds), KNOWN)
    assert feeds[1700] in rest
    assert len(good) == 1500


def standing(log: list[Raw]) -> dict[str, Mapping[str, Any]]:
    changes = amendments(one for one in log if one["kind"] == "correction")
    refused: list[str] = []
    kept = [changes.examine(one, lambda name, _: refused.append(name)) for one in log]
    assert refused == []
    return {one.id: one.data for one in kept if isinstance(one, Entry) and one.kind != "correction"}


def correct(minute: int, of: str, change: Raw | None = None) -> Raw:
    if change is None:
        return entry("correction", minute, of=of, action="retract")
    return entry("correction", minute, of=of, action="replace", **{"with": change})


def test_a_retraction_takes_an_entry_away_and_a_later_one_gives_it_back() -> None:
    fed = feed()
    away = correct(10, fed["id"])
    back = correct(20, away["id"])
    again = correct(30, back["id"])
    assert standing([fed, away]) == {}
    assert standing([fed, away, back]) == {fed["id"]: fed}
    assert standing([again, back, fed, away]) == {}


def test_of_two_replacements_the_later_wins_field_by_field() -> None:
    fed = feed()
    first = correct(10, fed["id"], {"amount": kg(3), "side": "b"})
    second = correct(20, fed["id"], {"amount": kg(4)})
    assert standing([second, fed, first])[fed["id"]] == {**fed, "amount": kg(4), "side": "b"}


def test_of_two_entries_that_share_an_id_the_same_one_is_kept_in_either_order() -> None:
    one, other = feed(), feed(amount=kg(2))
    assert first_of(one, other) == first_of(other, one)


def test_a_replacement_never_changes_id_or_kind() -> None:
    fed = feed()
    change = correct(10, fed["id"], {"id": "other", "kind": "water"})
    assert standing([fed, change]) == {fed["id"]: fed}


@given(logs())
def test_reading_keeps_what_was_entered(log: list[Raw]) -> None:
    for raw in log:
        one = read(raw)
        assert isinstance(one, Entry)
        assert one.data is raw


@st.composite
def times(draw: st.DrawFn) -> str:
    """Draw a time of day with any offset, as an entry writes it."""
    local = draw(st.datetimes(datetime(2000, 1, 1), datetime(2100, 12, 31)))
    minutes = draw(st.integers(-23 * 60 - 59, 23 * 60 + 59))
    fraction = draw(st.sampled_from(["", ".5", ".123456"]))
    offset = f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"
    return local.replace(microsecond=0).isoformat() + fraction + offset


@given(times())
def test_many_times_read_at_once_are_read_as_one_by_one(text: str) -> None:
    for texts in ([AT, text], [text, AT], [text]):
        alone = [moment(one) for one in texts]
        assert instants(texts) == ([one.us for one in alone], [one.day for one in alone])
        assert latest(texts) == max(one.us for one in alone)


@pytest.mark.parametrize(
    "text", ["2026-02-30T07:30:00+02:00", "2026-06-15T24:00:00+02:00", "2026-06-15T18:00"]
)
def test_of_many_times_one_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"day|time"):
        latest([AT, text])
    with pytest.raises(ValueError, match=r"day|time"):
        instants([AT, text])


def test_a_time_that_is_none_is_told_as_it_was_written() -> None:
    with pytest.raises(ValueError, match="2026-0x-03T07:30:00"):
        moment("2026-0x-03T07:30:00+02:00")


@given(times())
def test_a_time_is_read_as_the_library_reads_it_met_before_or_not(text: str) -> None:
    read = datetime.fromisoformat(text)
    for found in (moment(text), moment(text)):
        assert found.us == (read - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)
        assert found.day == read.toordinal()
