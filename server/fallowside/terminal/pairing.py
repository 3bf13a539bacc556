"""What a host sees at the terminal to bring a phone in: links, codes for its camera, the list of phones."""

import io
from collections.abc import Mapping, Sequence
from datetime import datetime

import segno
from rich.console import Console
from rich.table import Table
from rich.text import Text

from fallowside import words
from fallowside.access.pairing import Alarm
from fallowside.access.people import Person
from fallowside.access.sessions import Phone
from fallowside.api.serving import Serving


def show_started(console: Console, serving: Serving, log: str) -> None:
    """Say where a server is, who can reach it, and what a phone does first."""
    for url in serving.addresses:
        console.print(Text.assemble("Serving on ", (url, "figure")))
    console.print(Text(f"Log: {log}", "note"))
    if serving.open:
        console.print(Text(words.say("terminal.only_here"), "note"))
        return
    if serving.trust_address:
        show_trust(console, serving)
    elif serving.addresses[0].startswith("http:") and not serving.near:
        console.print(Text(words.say("terminal.plain_http"), "caution"))
    console.print(Text(words.say("terminal.then_pair"), "note"))


def show_trust(console: Console, serving: Serving) -> None:
    """Draw the way to the page that says how a phone learns to trust this server."""
    console.print()
    console.print(words.say("terminal.trust"))
    _draw(console, serving.trust_address)
    console.print(Text(words.say("terminal.fingerprint", {"fingerprint": serving.fingerprint}), "note"))


def show_link(console: Console, serving: Serving, link: str, code: str, whose: str) -> None:
    """Draw a pairing link."""
    console.print(words.say("terminal.pair", {"whose": whose}))
    _draw(console, link)
    console.print(words.say("terminal.pair_code", {"code": code}))
    if serving.trust_address:
        first = words.say("terminal.trust_first", {"address": serving.trust_address})
        console.print(Text(first, "note"))
    elif link.startswith("http:"):
        console.print(Text(words.say("terminal.plain_http"), "caution"))


def show_phones(console: Console, phones: Sequence[Phone], people: Mapping[str, Person]) -> None:
    """List the phones that are let in."""
    if not phones:
        console.print(words.say("terminal.no_phones"))
        return
    table = Table(box=None, pad_edge=False, header_style="label")
    for column in ("number", "whose", "phone", "last_seen"):
        table.add_column(words.say(f"terminal.phones.{column}"))
    for one in phones:
        table.add_row(str(one.n), whose(people, one.person), one.label, _written(one.seen_us))
    console.print(table)


def alarm_words(one: Alarm) -> str:
    """Say what happened."""
    values = {"times": one.times, "source": one.source, "at": _written(one.last_us)}
    return words.say(f"terminal.{one.what}", values)


def whose(people: Mapping[str, Person], person: str) -> str:
    """Name the owner of a phone."""
    found = people.get(person)
    return found.name if found else person or words.say("terminal.a_host")


def _draw(console: Console, text: str) -> None:
    code = io.StringIO()
    segno.make(text, micro=False).terminal(code, compact=True, border=2)
    console.print(code.getvalue(), soft_wrap=True)
    console.print(Text(f"  {text}", "figure"), soft_wrap=True)
    console.print()


def _written(us: int) -> str:
    return datetime.fromtimestamp(us // 1_000_000).astimezone().strftime("%Y-%m-%d %H:%M")
