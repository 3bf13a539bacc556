"""What a helper may do, until when, and that nothing of theirs is lost."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from fallowside.access import sessions
from fallowside.core import entries
from fallowside.store import log
from fallowside.store.database import Database
from tests.access.conftest import Clock, Phones, set_person
from tests.logs import Raw, entry
from tests.stores import body, feed, logged

DAY_US = 86_400_000_000


def sync(client: TestClient, *sent: Raw, cursor: int = 0) -> dict[str, Any]:
    answer = client.post("/api/sync", content=body(sent, cursor=cursor))
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def held(answer: dict[str, Any]) -> list[tuple[str, str]]:
    return [(one["id"], one["code"]) for one in answer["held"]]


def correction(of: str, minute: float, **fields: Any) -> Raw:
    return entry("correction", minute, of=of, **fields)


def test_a_helper_records_and_sees_what_others_recorded(phone: Phones) -> None:
    answer = sync(phone("kit"), feed(20))
    assert answer["accepted"] == ["feed-20"]
    assert {"feed-0", "feed-1"} <= {one["id"] for one in answer["entries"]}


def test_what_a_helper_sets_up_waits_for_a_host_who_lets_it_in(phone: Phones) -> None:
    station = entry("setup", 30, what="station", item="trough", set={"type": "bed", "name": "Second"})
    answer = sync(phone("kit"), station, feed(21, station="trough"))
    assert held(answer) == [(station["id"], "host_only"), ("feed-21", "unknown_station")]
    host = phone("ana")
    assert [one["code"] for one in host.get("/api/held").json()["held"]] == ["host_only", "unknown_station"]
    assert host.post(f"/api/held/{station['id']}/allow").json()["let_in"] == [station["id"], "feed-21"]
    assert {station["id"], "feed-21"} <= {one["id"] for one in sync(host)["entries"]}
    assert host.get("/api/held").json()["held"] == []


def test_what_waits_for_a_host_is_not_let_in_by_anything_else(phone: Phones, clock: Clock) -> None:
    station = entry("setup", 30, what="station", item="trough", set={"type": "bed", "name": "Second"})
    sync(phone("kit"), station)
    clock.us += DAY_US
    sync(phone("ana"), set_person("ana", 960, name="Ana again"))
    sync(phone("kit"), station)
    assert [one["code"] for one in phone("ana").get("/api/held").json()["held"]] == ["host_only"]


def test_a_helper_can_not_make_themselves_a_host(phone: Phones) -> None:
    helper = phone("kit")
    promoted = set_person("kit", 970, role="host")
    roundabout = correction("setup-person-kit", 971, action="replace", **{"with": {"set": {"role": "host"}}})
    retraction = correction("kit-901", 972, action="retract")
    answer = sync(helper, promoted, roundabout, retraction)
    assert [code for _, code in held(answer)] == ["host_only"] * 3
    assert helper.get("/api/me").json()["role"] == "helper"


def test_a_helper_can_not_lay_a_correction_in_wait_for_a_set_up(phone: Phones) -> None:
    later = correction("helper-new", 981, action="replace", **{"with": {"set": {"role": "host"}}})
    chained = correction(later["id"], 982, action="replace", **{"with": {"note": "?"}})
    innocent = {**set_person("pat", 980, name="Pat", role="helper"), "id": "helper-new"}
    answer = sync(phone("kit"), later, chained, innocent)
    assert [code for _, code in held(answer)] == ["host_only"] * 3


def test_a_helper_mends_what_was_recorded(phone: Phones) -> None:
    helper = phone("kit")
    mended = correction("feed-1", 990, action="retract")
    back = correction(mended["id"], 991, action="retract")
    both = correction("feed-30", 992, action="replace", **{"with": {"note": "the small bucket"}})
    assert sync(helper, mended, back, feed(30), both)["held"] == []


def test_a_host_sets_up(phone: Phones) -> None:
    assert sync(phone("ana"), set_person("zoe", 995, name="Zoe", role="helper"))["held"] == []


def test_a_helper_lets_go_only_of_their_own(phone: Phones) -> None:
    sync(phone("ana"), feed(40, station="moon"))
    sync(phone("kit"), feed(41, station="moon"))
    assert phone("kit").post("/api/held/feed-41/drop").status_code == 404
    helper = phone("lou")
    sync(helper, feed(42, station="moon"))
    assert helper.post("/api/held/feed-40/drop").status_code == 404
    assert helper.post("/api/held/feed-42/drop").json() == {"dropped": 1}


def test_what_a_helper_set_up_in_words_that_only_a_later_version_takes_waits_for_a_host_then_too(
    phone: Phones, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    judge = entries.problem

    def earlier(raw: Any, **circumstances: Any) -> entries.Problem | None:
        odd = raw["id"] in ("zoe-996", "feed-60")
        return entries.Problem("bad_choice", "set", "not yet") if odd else judge(raw, **circumstances)

    monkeypatch.setattr(entries, "problem", earlier)
    asked = [set_person("zoe", 996, name="Zoe", role="host"), feed(60)]
    assert [one["code"] for one in sync(phone("kit"), *asked)["held"]] == ["bad_choice"] * 2
    monkeypatch.setattr(entries, "problem", judge)
    # Any set-up of a host has what waits judged again.
    sync(phone("ana"), set_person("ana", 997, name="Ana"))
    ids = [one["id"] for one in logged(database)]
    assert ("zoe-996" in ids, "feed-60" in ids) == (False, True)
    waiting = phone("ana").get("/api/held").json()["held"]
    assert [(one["id"], one["code"]) for one in waiting] == [("zoe-996", "host_only")]
    assert phone("ana").post("/api/held/zoe-996/allow").json() == {"let_in": ["zoe-996"]}


# -- the last day --------------------------------------------------------------------------------


def test_the_last_day_itself_belongs_to_the_stay(phone: Phones, clock: Clock) -> None:
    helper = phone("kit")
    clock.us += 7 * DAY_US
    assert helper.get("/api/plan").status_code == 200
    clock.us += DAY_US
    assert helper.get("/api/plan").json()["code"] == "stay_over"


def test_after_the_last_day_a_phone_hands_in_what_it_had_and_reads_no_more(
    phone: Phones, clock: Clock, database: Database
) -> None:
    helper = phone("kit")
    cursor = sync(helper)["cursor"]
    clock.us += 9 * DAY_US
    sync(phone("ana"), feed(50))
    answer = sync(helper, feed(51), cursor=cursor)
    assert answer["accepted"] == ["feed-51"]
    assert answer["entries"] == []
    assert sync(helper, cursor=cursor)["entries"] == []
    assert {"feed-50", "feed-51"} <= {one["id"] for one in sync(phone("ana"))["entries"]}


def test_what_is_dated_after_the_stay_waits_for_a_host(phone: Phones, clock: Clock) -> None:
    helper = phone("kit")
    clock.us += 9 * DAY_US
    late = feed(52, at="2026-06-24T08:00:00+02:00")
    assert held(sync(helper, late)) == [("feed-52", "after_stay")]
    assert phone("ana").post("/api/held/feed-52/allow").json()["let_in"] == ["feed-52"]


def test_a_stay_that_is_made_longer_opens_the_phone_again(phone: Phones, clock: Clock) -> None:
    helper = phone("kit")
    clock.us += 9 * DAY_US
    assert helper.get("/api/plan").status_code == 403
    sync(phone("ana"), set_person("kit", 2000, last_day="2027-01-31"))
    assert helper.get("/api/plan").status_code == 200


def test_who_becomes_a_host_needs_no_new_pairing(phone: Phones) -> None:
    helper = phone("kit")
    assert helper.get("/api/phones").status_code == 403
    sync(phone("ana"), set_person("kit", 2000, role="host"))
    assert helper.get("/api/phones").status_code == 200


# -- a lost phone --------------------------------------------------------------------------------


def test_a_lost_phone_is_shut_out_at_once_and_what_it_sent_stays(phone: Phones, database: Database) -> None:
    lost, host = phone("kit"), phone("ana")
    sync(lost, feed(60))
    (line,) = [one for one in host.get("/api/phones").json()["phones"] if one["person"] == "kit"]
    assert host.post(f"/api/phones/{line['n']}/end").json() == {"n": line["n"]}
    for method, path in (("GET", "/api/plan"), ("GET", "/api/me"), ("POST", "/api/sync")):
        assert lost.request(method, path, content=body([])).json()["code"] == "signed_out"
    assert "feed-60" in {one["id"] for one in sync(host)["entries"]}
    assert [one["person"] for one in host.get("/api/phones").json()["phones"]] == ["ana"]
    assert host.post(f"/api/phones/{line['n']}/end").status_code == 404


def test_the_list_says_when_a_phone_was_last_seen(phone: Phones, clock: Clock) -> None:
    host, helper = phone("ana"), phone("kit")
    clock.us += 3 * 3_600_000_000
    helper.get("/api/me")
    seen = {one["person"]: one["seen_at"] for one in host.get("/api/phones").json()["phones"]}
    assert seen["kit"] == seen["ana"] == "2026-06-15T19:00:00.000Z"


def test_leaving_ends_the_session_of_this_phone(phone: Phones) -> None:
    helper = phone("kit")
    token = dict(helper.cookies)
    assert helper.post("/api/leave").status_code == 200
    helper.cookies.update(token)
    assert helper.get("/api/me").status_code == 401


def test_a_person_taken_out_of_the_place_reads_no_more(phone: Phones) -> None:
    helper, host = phone("kit"), phone("ana")
    for minute, name in ((3000, "setup-person-kit"), (3001, "kit-901")):
        sync(host, correction(name, minute, action="retract"))
    assert helper.get("/api/plan").json()["code"] == "stay_over"
    assert sync(helper, feed(61))["accepted"] == ["feed-61"]


def test_sessions_of_another_place_are_not_listed(phone: Phones, database: Database) -> None:
    phone("", place="elsewhere", role="host")
    host = phone("ana")
    assert len(host.get("/api/phones").json()["phones"]) == 1
    with database.of_place("elsewhere").read() as hand:
        elsewhere = sessions.phones(hand, log.place_number(hand) or 0)
    assert host.post(f"/api/phones/{elsewhere[0].n}/end").status_code == 404


def test_a_helper_says_when_to_be_reminded_and_nothing_else_with_it(phone: Phones) -> None:
    helper = phone("kit")
    hours: Raw = {"remind_hour": 9, "quiet_from_hour": 20}
    own = entry("setup", 980, what="person", item="kit", set=hours)
    more = entry("setup", 981, what="person", item="kit", set={**hours, "role": "host"})
    others = entry("setup", 982, what="person", item="ana", set=hours)
    undone = correction(own["id"], 983, action="retract")
    answer = sync(helper, own, more, others, undone)
    assert answer["accepted"] == [own["id"]]
    assert held(answer) == [(one["id"], "host_only") for one in (more, others, undone)]
    people = {one["id"]: one for one in helper.get("/api/plan").json()["place"]["people"]}
    assert (people["kit"]["remind_hour"], people["kit"]["role"]) == (9, "helper")


def test_hours_of_their_own_bring_nobody_back_who_was_taken_out(phone: Phones) -> None:
    helper, host = phone("kit"), phone("ana")
    earlier = entry("setup", 980, what="person", item="kit", set={"remind_hour": 9})
    assert sync(helper, earlier)["accepted"] == [earlier["id"]]
    for minute, name in ((3000, "setup-person-kit"), (3001, "kit-901")):
        sync(host, correction(name, minute, action="retract"))
    sync(helper, entry("setup", 981, what="person", item="kit", set={"remind_hour": 10}))
    assert helper.get("/api/me").json()["here"] is False
    assert helper.get("/api/plan").json()["code"] == "stay_over"
    assert "kit" not in [one["id"] for one in host.get("/api/plan").json()["place"]["people"]]


def test_what_waits_for_its_date_is_still_only_a_hosts_to_let_in(phone: Phones, clock: Clock) -> None:
    helper = phone("kit")
    later = {**set_person("kit", 0, role="host"), "at": "2026-06-18T08:00:00+02:00", "id": "promoted"}
    like = entry("setup", 961, what="feedstock", item="peel", set={"like": "moon_cheese"})
    stay = {**feed(62), "at": "2026-06-24T08:00:00+02:00"}
    answer = sync(helper, later, like, stay)
    assert [code for _, code in held(answer)] == ["host_only", "host_only", "after_stay"]
    clock.us += 12 * DAY_US
    cheese = entry("setup", 962, what="feedstock", item="moon_cheese", set={"name": "Cheese"})
    assert sync(phone("ana"), cheese)["held"] == []
    assert helper.get("/api/me").json()["role"] == "helper"
    codes = [one["code"] for one in phone("ana").get("/api/held").json()["held"]]
    assert codes == ["host_only", "host_only", "after_stay"]


def test_a_date_to_come_that_a_host_lets_in_is_let_in_when_it_has_come(phone: Phones, clock: Clock) -> None:
    later = {**set_person("kit", 0, name="Kit!"), "at": "2026-06-18T08:00:00+02:00", "id": "renamed"}
    sync(phone("kit"), later)
    host = phone("ana")
    assert host.post("/api/held/renamed/allow").json()["let_in"] == []
    clock.us += 4 * DAY_US
    assert "renamed" in {one["id"] for one in sync(host, feed(63))["entries"]}
