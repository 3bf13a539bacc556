"""How a phone in a browser test is made to speak another language, or one that no one speaks."""

import json
import re
from collections.abc import Callable

from playwright.sync_api import BrowserContext, Page, Route

from fallowside import words
from fallowside.words import message

CHOOSE = """language => new Promise((resolve, reject) => {
  const asked = indexedDB.open("fallowside");
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const change = asked.result.transaction("kept", "readwrite");
    change.objectStore("kept").put(language, "language");
    change.oncomplete = () => {
      asked.result.close();
      new BroadcastChannel("fallowside").postMessage("changed");
      resolve();
    };
  };
})"""
SPOKEN = "language => document.documentElement.lang.startsWith(language)"
ACCENTS = str.maketrans("aeiouyAEIOUYncs", "áëîõúÿÁËÎÕÚÝñçš")
STAND_IN = "es"
"""The language whose file is exchanged for the one no one speaks."""


def speak(page: Page, language: str) -> None:
    """Change the language of the phone as another tab of it would; what is on the screen stays."""
    page.evaluate(CHOOSE, language)
    page.wait_for_function(SPOKEN, arg=language)


def exchange(context: BrowserContext) -> None:
    """Make `STAND_IN` a language of long words: English, accented and lengthened."""
    long_words = {key: lengthened(text) for key, text in words.catalogue().items()}
    body = f"export default {json.dumps(long_words)}"

    def answer(route: Route) -> None:
        route.fulfill(body=body, content_type="text/javascript")

    context.route(re.compile(rf"/assets/{STAND_IN}-[^/]+\.js$"), answer)


def lengthened(text: str) -> str:
    """Accent a message and make its words about two fifths longer; names in braces stay.

    >>> lengthened("Feed {n, plural, one {# egg} other {# eggs}} to {who}'s worms")
    "Fëëëëd {n, plural, one {# ëëgg} other {# ëëggš}} ttõõ {who}''š wõõrrmš"
    """
    return written(message.parts(text), longer)


def longer(plain: str) -> str:
    return re.sub(r"([aeiouyrtAEIOUYRT])", lambda found: found[1] + found[1].lower(), plain).translate(
        ACCENTS
    )


def written(parts: message.Parts, change: Callable[[str], str]) -> str:
    """Write a message as its file has it, its plain words changed."""
    return "".join(_written(one, change) for one in parts)


def _written(part: str | message.Part, change: Callable[[str], str]) -> str:
    if isinstance(part, str):
        return re.sub(r"[{}]", lambda found: f"'{found[0]}'", change(part).replace("'", "''"))
    if part.kind == "count":
        return "#"
    if part.options is None:
        return f"{{{part.name}}}"
    options = " ".join(f"{case} {{{written(inner, change)}}}" for case, inner in part.options.items())
    return f"{{{part.name}, {part.kind}, {options}}}"
