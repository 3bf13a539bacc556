"""Reading a call: the envelope is checked, each entry keeps its bytes, one bad entry spoils no other."""

import contextlib
import json
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.api import body as bodies
from fallowside.sync import call, slices
from fallowside.sync.call import BadCall
from tests.stores import body, feed

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)
SPACE = st.text(" \t\r\n", max_size=3)


def refused(received: bytes) -> BadCall:
    with pytest.raises(BadCall) as caught:
        call.read(received)
    assert "\n" not in str(caught.value)
    return caught.value


def test_entries_keep_their_bytes() -> None:
    first = b'{ "id" : "a",\t"kind":"feed", "n": 1.50, "e": 1E2, "text": "\\u00e9\xc3\xa9" }'
    read = call.read(b'{"device":"p","entries":[ ' + first + b' , {"id":"b"}\n]}')
    assert read.bodies == [first, b'{"id":"b"}']


@pytest.mark.parametrize(
    "received", [b"", b"{", b"{dev", b'{"device":"p",}', b"[" * 100_000, b'{"device":"p"} x', b"\xff\xfe"]
)
def test_what_is_not_json_is_refused_as_a_whole(received: bytes) -> None:
    error = refused(received)
    assert (error.status, error.code) == (400, "broken_json")


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"device": None}, "device"),
        ({"device": ""}, "device"),
        ({"device": "two words"}, "device"),
        ({"device": 5}, "device"),
        ({"cursor": -1}, "cursor"),
        ({"cursor": "3"}, "cursor"),
        ({"cursor": 1.5}, "cursor"),
        ({"entries": {}}, "entries"),
        ({"entries": [1] * 1001}, "entries"),
        ({"sent_at": "yesterday"}, "sent_at"),
        ({"sent_at": 5}, "sent_at"),
    ],
)
def test_a_wrong_envelope_is_refused_by_its_field(fields: dict[str, Any], field: str) -> None:
    error = refused(json.dumps({"device": "p", **fields}).encode())
    assert (error.status, error.field) == (422, field)


@pytest.mark.parametrize("received", [b"[]", b"5", b"null", b'"text"'])
def test_a_call_that_is_no_object_is_refused(received: bytes) -> None:
    assert refused(received).status == 422


def test_a_missing_device_is_named() -> None:
    assert refused(b"{}").field == "device"


def test_a_clock_of_another_century_is_no_reason_to_refuse() -> None:
    assert call.read(body([], sent_at="1970-01-01T00:00:09Z")).sent_us == 9_000_000


@pytest.mark.parametrize("bad", ["NaN", "-Infinity", '"\\ud83d"', "1" * 5000, "1e999"])
def test_a_number_or_letter_json_has_no_word_for_spoils_only_its_own_entry(bad: str) -> None:
    received = f'{{"device":"p","entries":[{{"id":"a"}},{{"id":"b","x":{bad}}},{{"id":"c"}}],"cursor":7}}'
    read = call.read(received.encode())
    assert read.cursor == 7
    assert [bool(read.flaws.get(n)) for n in range(3)] == [False, True, False]
    assert (read.docs[0], read.docs[2]) == ({"id": "a"}, {"id": "c"})
    assert read.bodies[1] == f'{{"id":"b","x":{bad}}}'.encode()


def test_a_name_that_is_not_text_spoils_only_its_own_entry() -> None:
    read = call.read(b'{"device":"p","entries":[{"id":"a"},{"b":"\xff"}]}')
    assert list(read.flaws) == [1]


@given(outside=st.dictionaries(st.text(), JSON, max_size=3), entries=st.lists(JSON, max_size=5), space=SPACE)
def test_cutting_finds_what_a_parser_finds(outside: dict[str, Any], entries: list[Any], space: str) -> None:
    outside.pop("entries", None)
    separators = (f"{space},{space}", f"{space}:{space}")
    text = json.dumps({**outside, "entries": entries}, separators=separators)
    found, bodies = slices.split(f"{space}{text}{space}".encode(), 10)
    assert json.loads(found) == outside
    assert [json.loads(one) for one in bodies] == entries
    assert all(one == one.strip() for one in bodies)


@given(st.binary(max_size=60) | st.text('{}[],:"aeintrs0.\\ ', max_size=60).map(str.encode))
def test_no_bytes_at_all_bring_anything_but_a_refusal(received: bytes) -> None:
    with contextlib.suppress(BadCall):
        call.read(received)


@given(st.floats(allow_nan=False, allow_infinity=False) | st.integers())
def test_numbers_are_read_as_the_standard_library_reads_them(number: float) -> None:
    # The phone's fold reads with `json`, the server with msgspec: both must see the same number.
    text = json.dumps(number)
    assert msgspec.json.decode(text) == json.loads(text)
    assert repr(msgspec.json.decode(text)) == repr(json.loads(text))


def test_a_call_of_the_largest_size_is_read() -> None:
    assert len(call.read(body([feed(n) for n in range(1000)])).docs) == 1000


@pytest.mark.parametrize("one", ["1", "[]", "NaN", " NaN\n", "{}"])
def test_ten_megabytes_of_nothing_are_refused_without_being_taken_apart(one: str) -> None:
    count = bodies.MOST_BYTES // (len(one) + 1) - 100
    received = f'{{"device":"p","entries":[{",".join([one] * count)}]}}'.encode()
    assert refused(received).code == "too_many"


def test_ten_megabytes_of_space_around_nan_are_read() -> None:
    space = " " * (bodies.MOST_BYTES // 4)
    read = call.read(
        f'{{"device":"p",{space}"entries":[{space}{{"id":"a","x":NaN}}{space},1]{space}}}'.encode()
    )
    assert len(read.docs) == 2
