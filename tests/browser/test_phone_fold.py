"""The phone reckons for itself: with no server it says what the server would say, to the byte."""

import json
import runpy
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, expect

from fallowside.core.plan import plan_json
from fallowside.exchange import demo
from tests.browser.folds import (
    FILES,
    LISTEN,
    MEMORY,
    PATIENCE_MS,
    as_javascript,
    planned,
    printed,
    rows,
    started,
    wait_for_memory,
    write_rows,
)
from tests.browser.places import BED, BIN, celsius, kept, kg, log, visit
from tests.browser.server import LiveServer

ROOT = Path(__file__).parents[2]
FREEZE = runpy.run_path(str(ROOT / "fixtures" / "freeze_plans.py"))

Raw = dict[str, Any]


@pytest.fixture
def listening(phone: Page) -> Iterator[Page]:
    """Give a phone whose worker is listened to, and which breaks no rule of the content policy."""
    broken: list[str] = []

    def hear(message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            broken.append(message.text)

    phone.on("console", hear)
    phone.add_init_script(LISTEN)
    yield phone
    assert broken == []


def fill(server: LiveServer) -> list[Raw]:
    """Put the small place into the server's log, as phones would have written it."""
    entries = [json.loads(as_javascript(entry)) for entry in log()]
    server.run("load", "-", given="\n".join(as_javascript(entry) for entry in entries))
    return entries


def record_harvest(page: Page, server: LiveServer, count: int) -> None:
    """Record on the screen how many prepupae came."""
    page.goto(f"{server.url}/#/station/{BIN}/record/self_harvest")
    page.get_by_role("textbox", name="How many").fill(str(count))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved on this phone.")).to_be_visible()


def test_golden_logs_and_the_demo_are_planned_to_the_same_text(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    fill(live_server)
    visit(page, live_server)
    started(page)
    logs = {name: (FREEZE["log"](name), one["at"]) for name, one in FREEZE["about"]().items()}
    logs["demo"] = (demo.entries(date(2026, 6, 15)), "2026-06-15T18:00:00+02:00")
    for number, (name, (entries, at)) in enumerate(logs.items(), 1):
        said = page.evaluate(
            """([text, at, ask]) => new Promise(resolve => {
              worker.addEventListener("message", ({ data }) => {
                if (data.ask === ask) resolve(data.text);
              });
              worker.postMessage({ type: "forget" });
              worker.postMessage({ type: "take", text });
              worker.postMessage({ type: "plan", ask, at });
            })""",
            [json.dumps(entries), at, -number],
        )
        assert said == plan_json(entries, at), name


def test_what_is_recorded_without_a_server_changes_the_plan_as_the_server_would(
    live_server: LiveServer, listening: Page, tmp_path: Path
) -> None:
    page = listening
    entries = fill(live_server)
    visit(page, live_server)
    started(page)
    planned(page, len(entries))
    live_server.kill()

    record_harvest(page, live_server, 1234)
    text = planned(page, len(entries) + 1)
    at = json.loads(text)["at"]
    assert text == printed(tmp_path / "one", [*entries, *rows(page)], at)

    wait_for_memory(page)
    page.reload()
    assert started(page) == "restored"
    record_harvest(page, live_server, 1235)
    text = planned(page, len(entries) + 2)
    at = json.loads(text)["at"]
    assert text == printed(tmp_path / "two", [*entries, *rows(page)], at)
    shown = kept(page, "plan")
    assert (shown["by"], shown["plan"]) == ("phone", json.loads(text))


DAYS, REPLANS, A_DAY = 30, 4, 10


def test_thirty_days_without_a_server_end_in_the_plan_the_server_makes(
    live_server: LiveServer, listening: Page, tmp_path: Path
) -> None:
    page = listening
    start = datetime.now().astimezone() - timedelta(days=DAYS)
    entries = [json.loads(as_javascript(_earlier(entry))) for entry in log()]
    live_server.run("load", "-", given="\n".join(as_javascript(entry) for entry in entries))
    page.clock.install(time=start)
    visit(page, live_server)
    started(page)
    live_server.kill()

    said = []
    for day in range(DAYS):
        page.clock.fast_forward(24 * 3600 * 1000)
        at = start + timedelta(days=day + 1)
        number = A_DAY
        if day % (DAYS // REPLANS) == DAYS // REPLANS - 1:
            record_harvest(page, live_server, 100 + day)
            number -= 1
        write_rows(page, [_work(at - timedelta(minutes=minute + 1), day, minute) for minute in range(number)])
        if number < A_DAY:
            text = planned(page, len(entries) + A_DAY * (day + 1))
            assert text == printed(
                tmp_path / f"day-{day}", [*entries, *rows(page)], json.loads(text)["at"]
            ), day
            said.append(text)
    assert len(said) == REPLANS
    assert len(rows(page)) == DAYS * A_DAY

    page.goto(f"{live_server.url}/#/place/sync")
    live_server.start()
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_text("All sent")).to_be_visible(timeout=PATIENCE_MS)
    page.wait_for_function("() => worker !== null")
    shown = kept(page, "plan")
    again = live_server.run("plan", "--json", "--at", shown["plan"]["at"])
    assert json.loads(again) == shown["plan"]
    text = planned(page, len(entries) + DAYS * A_DAY)
    assert live_server.run("plan", "--json", "--at", json.loads(text)["at"]).removesuffix("\n") == text


def _earlier(entry: Raw) -> Raw:
    return {**entry, "at": (datetime.fromisoformat(entry["at"]) - timedelta(days=DAYS)).isoformat()}


def _work(at: datetime, day: int, number: int) -> Raw:
    """Give an entry of a day's round."""
    kinds: tuple[tuple[str, Raw], ...] = (
        ("feed", {"station": BED, "side": "a", "feedstock": "vegetable_scraps", "amount": kg(0.4)}),
        ("feed", {"station": BIN, "feedstock": "fruit_scraps", "amount": kg(0.35)}),
        ("reading", {"station": BED, "side": "a", "temperature": celsius(17 + day % 5), "squeeze": "drips"}),
        ("reading", {"station": BIN, "temperature": celsius(25.5)}),
        ("self_harvest", {"station": BIN, "count": 70 + day}),
    )
    kind, fields = kinds[number % len(kinds)]
    return {
        "id": f"away-{day}-{number}",
        "kind": kind,
        "at": at.isoformat(timespec="seconds"),
        "by": "kit",
        **fields,
    }


def test_nothing_of_it_is_fetched_before_the_app_can_be_used(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url.removeprefix(live_server.url)))
    fill(live_server)
    visit(page, live_server)
    started(page)
    first = next(number for number, path in enumerate(asked) if path.startswith("/assets/fold/"))
    assert {"/api/sync", "/api/plan"} <= set(asked[:first])
    wanted = page.evaluate(
        "async name => (await (await caches.open(name)).keys()).map(one => one.url)", FILES
    )
    assert len(wanted) == 4
    assert all(url.startswith(f"{live_server.url}/assets/fold/") for url in wanted)


def test_a_phone_that_saves_data_fetches_it_only_when_asked(live_server: LiveServer, listening: Page) -> None:
    page = listening
    page.add_init_script("Object.defineProperty(navigator, 'connection', { value: { saveData: true } });")
    fill(live_server)
    visit(page, live_server)
    page.goto(f"{live_server.url}/#/place/fold")
    expect(page.get_by_text("asked to save data.")).to_be_visible(timeout=20_000)
    expect(page.get_by_text("MB, once.")).to_be_visible()
    assert page.evaluate("name => caches.has(name)", FILES) is False
    assert page.evaluate("() => told") == []

    page.get_by_role("button", name="Always").click()
    assert started(page) == "plain"
    expect(page.get_by_text("It is ready")).to_be_visible()


def test_a_choice_against_it_is_kept(live_server: LiveServer, listening: Page) -> None:
    page = listening
    fill(live_server)
    visit(page, live_server)
    started(page)
    page.goto(f"{live_server.url}/#/place/fold")
    page.get_by_role("button", name="No figures").click()
    expect(page.get_by_text("It is left out.")).to_be_visible()
    page.reload()
    expect(page.get_by_text("It is left out.")).to_be_visible(timeout=20_000)
    assert page.evaluate("() => told") == []


def test_a_worker_that_dies_is_told_of_and_started_again_and_a_tap_is_heard_meanwhile(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    entries = fill(live_server)
    visit(page, live_server)
    started(page)
    planned(page, len(entries))
    live_server.kill()
    page.goto(f"{live_server.url}/#/place/fold")
    expect(page.get_by_text("It is ready")).to_be_visible()
    page.evaluate("() => worker.terminate()")
    expect(page.get_by_text("is being started again")).to_be_visible()
    record_harvest(page, live_server, 77)
    assert started(page, times=2) == "plain"
    planned(page, len(entries) + 1)


def test_a_worker_that_falls_again_and_again_is_left_alone_until_a_person_asks(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    page.add_init_script(
        """globalThis.started = 0;
        globalThis.Worker = class extends EventTarget {
          constructor(_, { name }) { super(); started += Number(name === "fold"); }
          postMessage() {
            const data = { type: "broken", detail: "no memory" };
            setTimeout(() => this.onmessage({ data }));
          }
          terminate() {}
        };"""
    )
    fill(live_server)
    visit(page, live_server)
    page.goto(f"{live_server.url}/#/place/fold")
    expect(page.get_by_role("button", name="Try again")).to_be_visible(timeout=60_000)
    expect(page.get_by_text("It said: no memory")).to_be_visible()
    assert page.evaluate("() => started") == 3
    page.reload()
    expect(page.get_by_role("button", name="Try again")).to_be_visible(timeout=20_000)
    assert page.evaluate("() => started") == 0
    record_harvest(page, live_server, 5)


def test_figures_of_before_are_shown_with_their_age_while_the_worker_is_busy(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    page.add_init_script("globalThis.Worker = class extends EventTarget { postMessage() {} terminate() {} };")
    fill(live_server)
    visit(page, live_server)
    live_server.kill()
    record_harvest(page, live_server, 55)
    page.goto(f"{live_server.url}/#/round")
    expect(page.get_by_text("Figures as of")).to_be_visible()
    expect(page.get_by_text("g today").first).to_be_visible()
    assert kept(page, "plan")["by"] == "service"


def change_memory(page: Page, change: str, *, sign: bool = False) -> None:
    """Change the kept memory's bytes; with a digest made anew, as if it had been kept so."""
    page.evaluate(
        f"""async ([name, sign]) => {{
          const kept = await caches.open(name);
          const [request] = await kept.keys();
          const there = await kept.match(request);
          const headers = new Headers(there.headers);
          const bytes = ({change})(new Uint8Array(await there.arrayBuffer()));
          const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
          const text = [...digest].map(byte => byte.toString(16).padStart(2, "0")).join("");
          if (sign) headers.set("X-Digest", text);
          await kept.put(request, new Response(bytes, {{ headers }}));
        }}""",
        [MEMORY, sign],
    )


HARMS = {
    "cut short": "bytes => bytes.slice(0, -9)",
    "not a memory": "bytes => new Uint8Array(bytes.length)",
    "one bit fallen over": "bytes => bytes.map((byte, at) => at === bytes.length - 100 ? byte ^ 4 : byte)",
}


@pytest.mark.parametrize("harm", HARMS)
def test_a_memory_that_was_damaged_is_let_go_and_the_start_is_a_plain_one(
    live_server: LiveServer, listening: Page, harm: str
) -> None:
    page = listening
    entries = fill(live_server)
    visit(page, live_server)
    planned(page, len(entries))
    wait_for_memory(page)
    live_server.kill()
    change_memory(page, HARMS[harm])
    page.reload()
    assert started(page) == "plain"
    record_harvest(page, live_server, 9)
    planned(page, len(entries) + 1)


def test_a_memory_that_plans_the_known_log_otherwise_is_not_trusted(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    entries = fill(live_server)
    visit(page, live_server)
    planned(page, len(entries))
    wait_for_memory(page)
    change_memory(
        page,
        """bytes => {
          const [size] = new Uint32Array(bytes.buffer, 0, 1);
          const about = new TextDecoder().decode(bytes.subarray(4, 4 + size));
          bytes.set(new TextEncoder().encode(about.replace("Pond", "Lake")), 4);
          return bytes;
        }""",
        sign=True,
    )
    page.reload()
    assert started(page) == "plain"


def test_an_entry_the_server_held_is_not_in_the_phones_plan_any_more(
    live_server: LiveServer, listening: Page
) -> None:
    page = listening
    entries = fill(live_server)
    visit(page, live_server)
    started(page)
    live_server.kill()
    bad = {**entries[-1], "id": "bad", "station": "nowhere"}
    write_rows(page, [bad])
    record_harvest(page, live_server, 7)
    text = planned(page, len(entries) + 2)
    assert [one["id"] for one in json.loads(text)["made_from"]["set_aside"]] == ["bad"]
    live_server.start()
    page.goto(f"{live_server.url}/#/place/sync")
    # Of as many entries it may have planned before, when the bad one was there and the harvest was not.
    page.evaluate("() => { told.length = 0 }")
    page.get_by_role("button", name="Send now").click()
    text = planned(page, len(entries) + 1)
    assert json.loads(text)["made_from"]["set_aside"] == []


def test_a_new_start_of_the_browser_without_a_server_plans_from_the_kept_memory(
    live_server: LiveServer, kept_phone: Callable[[], BrowserContext], tmp_path: Path
) -> None:
    entries = fill(live_server)
    first = kept_phone()
    page = first.new_page()
    page.add_init_script(LISTEN)
    visit(page, live_server)
    planned(page, len(entries))
    wait_for_memory(page)
    first.close()
    live_server.kill()

    page = kept_phone().new_page()
    page.add_init_script(LISTEN)
    page.goto(live_server.url)
    assert started(page) == "restored"
    record_harvest(page, live_server, 31)
    text = planned(page, len(entries) + 1)
    assert text == printed(tmp_path / "own", [*entries, *rows(page)], json.loads(text)["at"])
