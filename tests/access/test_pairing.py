"""Pairing: once, for ten minutes, and not by guessing."""

import re
from collections.abc import Callable
from contextlib import AbstractContextManager

import pytest
from starlette.testclient import TestClient

from fallowside.access import pairing, sessions, tokens
from fallowside.api import pairing as links
from fallowside.api import signing
from fallowside.store import log
from fallowside.store.database import Database, Hand
from fallowside.sync import reply
from tests.access.conftest import Clock, Phones, set_person
from tests.stores import NOW_US, body, feed

Code = Callable[..., str]


def pair(client: TestClient, code: str, device: str = "kits-phone") -> int:
    return int(client.post("/api/pair", json={"code": code, "device": device}).status_code)


def test_a_phone_pairs_and_is_let_in_from_then_on(stranger: TestClient, code: Code) -> None:
    assert stranger.get("/api/plan").status_code == 401
    answer = stranger.post("/api/pair", json={"code": code("kit"), "device": "kits-phone"})
    assert answer.json() | {"last_day": None} == {
        "person": "kit",
        "role": "helper",
        "device": "kits-phone",
        "here": True,
        "last_day": None,
        "open": False,
    }
    assert stranger.get("/api/plan").status_code == 200
    assert stranger.get("/api/me").json()["person"] == "kit"


def test_a_code_of_another_place_opens_nothing_here_and_stays_good_there(
    stranger: TestClient, database: Database
) -> None:
    elsewhere = database.of_place("elsewhere")
    with elsewhere.write() as hand:
        place_n = log.open_place(hand, NOW_US).n
        made = pairing.invite(hand, place_n, "", "host", NOW_US).code
    assert pair(stranger, made) == 403
    assert pairing.redeem(elsewhere, made, "", "phone", NOW_US) is not None


def test_the_session_is_kept_where_no_script_and_no_other_site_gets_at_it(
    stranger: TestClient, code: Code
) -> None:
    made = stranger.post("/api/pair", json={"code": code()}).headers["set-cookie"]
    assert made.startswith("__Host-fallowside=")
    assert {"HttpOnly", "Secure", "SameSite=strict", "Path=/"} <= set(made.split("; "))
    assert "Domain" not in made


def test_over_plain_http_the_cookie_is_still_out_of_reach_of_scripts(
    stranger: TestClient, code: Code
) -> None:
    plain = TestClient(stranger.app, base_url="http://192.168.1.7:8000")
    made = plain.post("/api/pair", json={"code": code()}).headers["set-cookie"]
    assert made.startswith("fallowside=")
    assert {"HttpOnly", "SameSite=strict"} <= set(made.split("; "))
    assert plain.get("/api/plan").status_code == 200


def test_a_code_works_once(stranger: TestClient, code: Code) -> None:
    made = code()
    assert pair(stranger, made) == 200
    stranger.cookies.clear()
    assert pair(stranger, made) == 403


def test_a_code_works_for_ten_minutes(stranger: TestClient, code: Code, clock: Clock) -> None:
    made = code()
    clock.us = NOW_US + 10 * 60 * 1_000_000
    assert pair(stranger, made) == 403
    clock.us -= 1
    assert pair(stranger, made) == 200


@pytest.mark.parametrize("written", [str.lower, tokens.spaced, lambda made: f" {made[:5]} {made[5:]} "])
def test_a_code_may_be_typed_in_any_hand(
    stranger: TestClient, code: Code, written: Callable[[str], str]
) -> None:
    assert pair(stranger, written(code())) == 200


def test_neither_codes_nor_tokens_are_kept(stranger: TestClient, code: Code, database: Database) -> None:
    made = code()
    token = stranger.post("/api/pair", json={"code": made}).cookies[signing.SECURE_COOKIE]
    with database.read() as hand:
        kept = repr([hand.rows("SELECT * FROM invitation"), hand.rows("SELECT * FROM session")])
    assert made not in kept
    assert token not in kept
    assert tokens.hashed(token) in kept


def test_the_link_keeps_its_code_from_logs_and_proxies(phone: Phones) -> None:
    made = phone("ana").post("/api/invitations", json={"person": "kit"}).json()
    address, _, rest = made["link"].partition("#")
    assert address == "https://garden.example/"
    assert rest == f"/pair/{made['code']}"
    assert re.fullmatch(r"([A-Z2-9]{4}-){2}[A-Z2-9]{4}", made["code"])
    assert {len(row) for row in made["squares"]} == {len(made["squares"])}


def test_a_host_invites_by_the_phone_and_the_helper_comes_in(phone: Phones, stranger: TestClient) -> None:
    made = phone("ana").post("/api/invitations", json={"person": "kit"}).json()
    assert pair(stranger, made["code"]) == 200
    assert stranger.get("/api/me").json()["role"] == "helper"


def test_nobody_is_invited_who_is_not_set_up(phone: Phones) -> None:
    assert phone("ana").post("/api/invitations", json={"person": "zoe"}).status_code == 404


def test_the_first_host_comes_in_before_anybody_is_set_up(stranger: TestClient, code: Code) -> None:
    assert pair(stranger, code("", "host")) == 200
    sent = stranger.post("/api/sync", content=body([set_person("max", 950, name="Max", role="host")]))
    assert len(sent.json()["accepted"]) == 1


def test_who_pairs_again_keeps_one_session(stranger: TestClient, code: Code, database: Database) -> None:
    pair(stranger, code())
    pair(stranger, code())
    with database.read() as hand:
        found = sessions.phones(hand, log.place_number(hand) or 0)
    assert [one.ended_us is None for one in sorted(found, key=lambda one: one.n)] == [False, True]


def test_a_phone_is_who_it_was_paired_as_whatever_it_calls_itself(
    phone: Phones, stranger: TestClient, code: Code, database: Database
) -> None:
    pair(stranger, code("kit"), device="kits-phone")
    stranger.post("/api/sync", content=body([feed(70)], device="anas-phone"))
    with database.read() as hand:
        sent_by = hand.value(
            "SELECT device.name FROM entry JOIN device ON device.n = device_n WHERE id = 'feed-70'"
        )
    assert sent_by == "kits-phone"


@pytest.mark.parametrize(("ahead_s", "told"), [(119, 0), (3 * 3600, -3 * 3600), (-86_400, 86_400)])
def test_a_host_sees_how_far_the_clock_of_a_phone_is_off(phone: Phones, ahead_s: int, told: int) -> None:
    host, helper = phone("ana"), phone("kit")
    sent_at = reply.instant(NOW_US + ahead_s * 1_000_000)
    helper.post("/api/sync", content=body([feed(71, at=sent_at)], sent_at=sent_at))
    found = {one["person"]: one["clock_skew_s"] for one in host.get("/api/phones").json()["phones"]}
    assert found == {"ana": 0, "kit": told}


def test_two_phones_never_share_a_name(stranger: TestClient, code: Code, database: Database) -> None:
    pair(stranger, code(), device="same")
    other = TestClient(stranger.app, base_url="https://garden.example")
    assert other.post("/api/pair", json={"code": code(), "device": "same"}).json()["device"] != "same"


def test_a_phone_paired_while_another_has_no_signal_gets_all_that_is_due(
    phone: Phones, stranger: TestClient, code: Code
) -> None:
    away = phone("ana")
    before = away.post("/api/sync", content=body([])).json()
    pair(stranger, code("kit"))
    fetched = stranger.post("/api/sync", content=body([feed(80)], device="kits-phone")).json()
    assert len(fetched["entries"]) == len(before["entries"])
    late = [feed(number) for number in range(81, 90)]
    back = away.post("/api/sync", content=body(late, cursor=before["cursor"], log=before["log"])).json()
    assert [one["id"] for one in back["entries"]] == ["feed-80"]
    again = stranger.post("/api/sync", content=body([], cursor=fetched["cursor"], log=before["log"])).json()
    assert [one["id"] for one in again["entries"]] == [one["id"] for one in late]


# -- guessing ------------------------------------------------------------------------------------


def test_a_thousand_wrong_guesses_lock_out_the_guesser_and_tell_the_host(
    stranger: TestClient, phone: Phones, code: Code, clock: Clock
) -> None:
    host, made = phone("ana"), code()
    said = [pair(stranger, f"WRONG{number}") for number in range(1000)]
    assert said == [403] * pairing.MOST_GUESSES + [429] * (1000 - pairing.MOST_GUESSES)
    assert pair(stranger, made) == 429
    (alarm,) = host.get("/api/phones").json()["alarms"]
    assert (alarm["what"], alarm["source"], alarm["times"]) == ("guessed", "testclient", pairing.MOST_GUESSES)
    host.post("/api/alarms/seen")
    assert host.get("/api/phones").json()["alarms"] == []


def test_who_is_locked_out_may_try_again_later(stranger: TestClient, code: Code, clock: Clock) -> None:
    for number in range(pairing.MOST_GUESSES + 5):
        pair(stranger, f"WRONG{number}")
    clock.us += pairing.LOCKED_US
    assert pair(stranger, code()) == 200


def test_who_guesses_on_is_one_line_to_the_host(stranger: TestClient, phone: Phones, clock: Clock) -> None:
    host = phone("ana")
    for _ in range(3):
        for number in range(pairing.MOST_GUESSES):
            pair(stranger, f"WRONG{number}")
        clock.us += pairing.LOCKED_US
    (alarm,) = host.get("/api/phones").json()["alarms"]
    assert alarm["times"] == 3 * pairing.MOST_GUESSES
    assert alarm["first_at"] < alarm["last_at"]


def test_guessers_from_everywhere_fill_no_disk(
    database: Database, phone: Phones, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pairing, "MOST_ALARMS", 3)
    for number in range(9):
        pairing.raise_alarm(database, f"192.0.2.{number}", 10, NOW_US, NOW_US)
    assert len(phone("ana").get("/api/phones").json()["alarms"]) == 3


def test_others_pair_while_one_guesses(stranger: TestClient, code: Code) -> None:
    for number in range(pairing.MOST_GUESSES + 1):
        pair(stranger, f"WRONG{number}")
    other = TestClient(stranger.app, base_url="https://garden.example", client=("192.0.2.8", 1))
    assert pair(other, code()) == 200


def test_wrong_guesses_take_no_turn_at_writing(
    stranger: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What a guesser can't do is hold up the one writer: so others are not slowed.
    turns = []
    write = database.write

    def counted() -> AbstractContextManager[Hand]:
        turns.append(1)
        return write()

    monkeypatch.setattr(database, "write", counted)
    for number in range(200):
        pair(stranger, f"WRONG{number}")
    assert len(turns) == 1


def test_guesses_are_remembered_for_so_many_places_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pairing, "_MOST_SOURCES", 5)
    guesses = pairing.Guesses()
    for number in range(50):
        guesses.wrong(f"192.0.2.{number}", NOW_US, lambda times, first: None)
    assert [guesses.times(f"192.0.2.{number}") for number in range(43, 50)] == [0, 0, 1, 1, 1, 1, 1]


def test_one_machine_with_many_addresses_is_one_guesser(stranger: TestClient) -> None:
    for number in range(pairing.MOST_GUESSES + 1):
        other = TestClient(
            stranger.app, base_url="https://garden.example", client=(f"2001:db8:7:7::{number + 1:x}", 1)
        )
        last = pair(other, "WRONG")
    assert last == 429


@pytest.mark.parametrize("agent", ["Mozilla/5.0 (Linux; Android 15; Invented 9)", ""])
def test_of_what_a_phone_tells_about_itself_only_its_kind_is_kept(agent: str) -> None:
    assert links.kind_of(agent) in ("Android", "computer")
