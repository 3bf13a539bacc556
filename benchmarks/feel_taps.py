"""The taps that `benchmarks.feel` measures: where each is done, what is pressed, what shows its answer."""

import json
from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page

Act = Callable[[Page], None]


@dataclass(frozen=True)
class Tap:
    """One kind of tap."""

    name: str
    before: Act
    """Go to where it is done."""
    act: Act
    ready: str
    """An expression of JavaScript that is true as soon as the answer is in the page."""
    timed: bool = True
    """Whether the browser tells its own time of it: of a touch, not of a choice from a list of its own."""


def at(*screens: str) -> Act:
    """Go to a screen by way of others, so that the way back leads through them."""

    def go(page: Page) -> None:
        for screen in screens:
            page.evaluate("screen => { location.hash = '#/' + screen }", screen)
            page.wait_for_function(
                "head => location.hash === head && document.querySelector('h1')", arg=f"#/{screen}"
            )
            page.locator("main:not([aria-busy])").wait_for()

    return go


def on(selector: str) -> Act:
    """Tap the first thing a selector finds."""
    return lambda page: page.locator(selector).first.tap()


def named(name: str) -> Act:
    """Tap the button of that name."""
    return lambda page: page.get_by_role("button", name=name, exact=True).first.tap()


def before_save(page: Page) -> None:
    """Fill in a reading."""
    at("station/trough", "station/trough/record/reading")(page)
    on(".dial-near button:not(.picked)")(page)
    named("Holds together")(page)


def newest_entry(page: Page) -> None:
    """Go to the newest entry of the bed."""
    at("round", "station/trough")(page)
    page.locator('main a.row[href*="/entry/"]').first.click()
    page.wait_for_function("document.querySelector('dl.figures')")


def unfolded(page: Page) -> None:
    """Go to the round, with what is folded away there open."""
    at("round")(page)
    page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true })")


def one_of_its_own(page: Page) -> None:
    """Note a reading, and go to its entry."""
    before_save(page)
    named("Save")(page)
    page.wait_for_function("location.hash.endsWith('trough')")
    newest_entry(page)


def on_a_round(page: Page) -> None:
    """Stand at the bed on a round; the one that was begun may be over already."""
    at("round")(page)
    start = page.get_by_role("button", name="Start the round")
    if start.count() > 0:
        start.tap()
    at("station/trough")(page)


def other_month(page: Page) -> None:
    """Choose another time than the one the tally is of."""
    chosen = page.locator("main .typed select")
    chosen.select_option(index=1 if chosen.input_value() == "" else 0)


def stay(_page: Page) -> None:
    """Stay where the tap before led to."""


def bare_press(page: Page) -> None:
    """Lay a bare press over the page."""
    at("round")(page)
    page.evaluate("""() => {
      const press = document.createElement('button');
      press.id = 'bare';
      press.textContent = 'off';
      press.style = 'position: fixed; top: 0; left: 0; width: 60px; height: 60px; z-index: 9';
      press.onclick = () => { press.textContent = 'on'; setTimeout(() => press.remove(), 100); };
      document.body.append(press);
    }""")


def other_series(page: Page) -> None:
    """Choose another chart than the one that is drawn."""
    chosen = page.locator(".typed select")
    chosen.select_option(index=1 if chosen.input_value() == "0" else 0)


def chart_in_view(page: Page) -> None:
    """Scroll to the chart of the bed."""
    at("round", "station/trough")(page)
    page.locator(".chart").scroll_into_view_if_needed()
    page.locator(".chart canvas").wait_for()


def screen(hash_end: str) -> str:
    """Tell that the screen at an address is there: a heading drawn after the address changed."""
    return f"location.hash.endsWith({json.dumps(hash_end)}) && document.querySelector('h1') !== window.head"


READING, FEED, SCOOPS = (f"station/trough/record/{kind}" for kind in ("reading", "feed", "side_count"))
OPEN = "document.querySelector('.sheet[open]') !== null"
SAVED = "document.querySelector('.said button') !== null"
TAKEN_BACK = "document.querySelector('.said p') !== null && document.querySelector('.said button') === null"
SUN = "document.documentElement.dataset.theme === 'sun'"

BARE = Tap("a bare tap", bare_press, on("#bare"), "document.querySelector('#bare')?.textContent === 'on'")

TAPS: tuple[Tap, ...] = (
    Tap("open a bed", at("round"), on('.path a[href$="trough"]'), screen("trough")),
    Tap("open a bin", at("round"), on('.path a[href$="stair-bin"]'), screen("stair-bin")),
    Tap("open a pond", at("round"), on('.path a[href$="pond"]'), screen("pond")),
    Tap("open a hive", at("round"), on('.path a[href$="hive"]'), screen("hive")),
    Tap("open a reading", at("station/trough"), on('.dock-row a[href$="reading"]'), screen("reading")),
    Tap("open a feed", at("station/trough"), on('.dock-row a[href$="feed"]'), screen("feed")),
    Tap(
        "a choice", at(READING), named("Holds together"), "document.querySelector('.pick[aria-pressed=true]')"
    ),
    Tap(
        "a dial's value",
        at(READING),
        on(".dial-near button:not(.picked)"),
        "document.querySelector('.picked')",
    ),
    Tap(
        "a dial's step",
        at(READING),
        on(".dial-steps button:last-child"),
        "document.querySelector('.dial-value input').value",
    ),
    Tap(
        "one more worm",
        at(SCOOPS),
        named("One more worm"),
        "document.querySelector('.tally-now').value !== window.count",
    ),
    # Before the reading, whose plan may let in less than the press feeds.
    Tap("feed by one press", at("station/trough", FEED), on('[data-ready="0.25"]'), SAVED),
    Tap("undo the feed", stay, lambda page: page.get_by_role("button", name="Undo").tap(), TAKEN_BACK),
    Tap("save", before_save, named("Save"), SAVED),
    Tap("undo", stay, lambda page: page.get_by_role("button", name="Undo").tap(), TAKEN_BACK),
    Tap("all records", at("station/trough"), named("More"), OPEN),
    Tap("close it", stay, named("Close"), f"!({OPEN})"),
    Tap("why", at("round", "station/trough"), on("main button.figure"), OPEN),
    Tap("close the why", stay, named("Close"), f"!({OPEN})"),
    Tap(
        "another chart",
        chart_in_view,
        other_series,
        "document.querySelector('.chart canvas') !== window.drawn",
        timed=False,
    ),
    Tap(
        "a chart's table",
        chart_in_view,
        lambda page: page.get_by_text("As a table").tap(),
        "document.querySelector('.chart ~ details').open",
    ),
    Tap("to what is ahead", at("round"), on('.foot a[href$="ahead"]'), screen("ahead")),
    Tap("to the tally", at("round"), on('.foot a[href$="tally"]'), screen("tally")),
    Tap("to the place", at("round"), on('.foot a[href$="place"]'), screen("place")),
    Tap("to the round", at("tally"), on('.foot a[href$="round"]'), screen("round")),
    Tap(
        "another month",
        at("tally"),
        other_month,
        "document.querySelector('.huge') !== window.huge",
        timed=False,
    ),
    Tap("to the circle", at("tally"), on('main a[href$="circle"]'), screen("circle")),
    Tap("to the reminders", unfolded, on('main a[href$="reminders"]'), screen("reminders")),
    Tap("put off until", at("reminders"), named("Put off"), OPEN),
    Tap("not put off", stay, named("Close"), f"!({OPEN})"),
    Tap("to the day's steps", unfolded, on('main a[href$="day"]'), screen("day")),
    Tap("to the bucket", at("round"), on(".to-bucket"), screen("bucket")),
    Tap("start the round", at("round"), named("Start the round"), "document.querySelector('.dock > p')"),
    Tap("the next station", on_a_round, on(".next-stop"), "document.querySelector('h1') !== window.head"),
    Tap("finish the round", at("round"), named("Finish the round"), SAVED),
    Tap("to whom to hand over", unfolded, named("Hand over"), OPEN),
    Tap("keep the round", stay, named("Close"), f"!({OPEN})"),
    Tap(
        "who is writing",
        at("place/who"),
        on("main .pick:not(.picked)"),
        "document.querySelector('.picked')?.textContent !== window.picked",
    ),
    Tap("more to note", at(FEED), on(".more > summary"), "document.querySelector('.more').open"),
    Tap("open what is seen", at("station/hive"), on('.dock-row a[href$="signs"]'), screen("signs")),
    Tap(
        "open an entry",
        at("round", "station/trough"),
        on('main a.row[href*="/entry/"]'),
        "document.querySelector('h1') !== window.head",
    ),
    Tap("mend it", newest_entry, named("Mend it"), "document.querySelector('form.record')"),
    Tap("take it back", one_of_its_own, named("Take it back"), TAKEN_BACK),
    Tap("into the sun", at("station/trough"), on(".sun-press"), SUN),
    Tap("out of the sun", stay, on(".sun-press"), f"!({SUN})"),
    Tap("into German", at("place/language"), named("Deutsch"), "document.documentElement.lang === 'de'"),
    Tap("back to English", stay, named("English"), "document.documentElement.lang.startsWith('en')"),
)

_READY = ", ".join(f"{json.dumps(tap.name)}: () => {tap.ready}" for tap in (BARE, *TAPS))

WATCH = f"""() => {{
  const READY = {{ {_READY} }};
  window.told = {{}};
  new PerformanceObserver(list => list.getEntries().forEach(one => {{
    if (one.interactionId) told[one.interactionId] = Math.max(told[one.interactionId] ?? 0, one.duration);
  }})).observe({{ type: 'event', durationThreshold: 16 }});
  window.watchFor = name => {{
    window.answered = false;
    window.told = {{}};
    window.head = document.querySelector('h1');
    window.drawn = document.querySelector('.chart canvas');
    window.huge = document.querySelector('.huge');
    window.picked = document.querySelector('.picked')?.textContent;
    window.count = document.querySelector('.tally-now')?.value;
    let begun = false;
    const begin = () => {{
      removeEventListener('pointerdown', begin, true);
      removeEventListener('change', begin, true);
      performance.mark('tap-begins');
      begun = true;
    }};
    addEventListener('pointerdown', begin, true);
    addEventListener('change', begin, true);
    const eyes = new MutationObserver(() => {{
      if (!begun || !READY[name]()) return;
      eyes.disconnect();
      // A task of its own after the next frame's work: by then the frame has been handed over.
      requestAnimationFrame(() => {{
        const {{ port1, port2 }} = new MessageChannel();
        port1.onmessage = () => {{ performance.mark('tap-ends'); window.answered = true; }};
        port2.postMessage(0);
      }});
    }});
    eyes.observe(document, {{ subtree: true, childList: true, attributes: true, characterData: true }});
  }};
}}"""
"""Tells of one tap when it began and when it was answered; `told` holds the browser's own times."""
