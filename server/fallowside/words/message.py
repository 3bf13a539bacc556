"""ICU messages, as much of them as the catalogues use.

`{name}`, `{n, number}`, `{kg, number, mass}` (a mass in kilograms, said with the unit its size asks for),
`{n, plural, =0 {…} one {…} other {…}}`, `{x, select, a {…} other {…}}`, `#` for the number of a plural, and
quoting by apostrophes. The web app reads the same catalogues.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, NamedTuple

Writer = Callable[[Any], str]
CountForm = Callable[[Any], str]


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a message: a value by its name, or a choice by it."""

    kind: Literal["value", "mass", "count", "plural", "select"]
    name: str = ""
    options: Mapping[str, "tuple[str | Part, ...]"] | None = None


Parts = tuple[str | Part, ...]


class BadMessage(ValueError):
    """A message that breaks the grammar."""


@cache
def parts(text: str) -> Parts:
    """Read a message.

    Raises:
        BadMessage: it breaks the grammar.
    """
    found, at = _parts(text, 0, counted=False, nested=False)
    if at != len(text):
        raise BadMessage(f"a }} too many in {text!r}")
    return found


def _english(count: Any) -> str:
    return "one" if count == 1 else "other"


def _kilograms(kg: Any) -> str:
    return f"{kg} kg"


def written(
    text: str,
    values: Mapping[str, Any],
    write: Writer,
    form: CountForm = _english,
    weigh: Writer = _kilograms,
) -> str:
    """Put values into a message.

    Args:
        text: The message.
        values: What its names stand for.
        write: Writes a value for people.
        form: Gives the form a count asks for, such as `one`.
        weigh: Writes a mass with its unit. [kg]

    >>> written("{n, plural, one {# clutch} other {# clutches}} by {who}", {"n": 2, "who": "Ida"}, str)
    '2 clutches by Ida'
    >>> written("Away '{'{days}'}': it''s fine", {"days": 3}, str)
    "Away {3}: it's fine"
    """
    return _written(parts(text), values, _Ways(write, form, weigh), "")


class _Ways(NamedTuple):
    """How values become text."""

    write: Writer
    form: CountForm
    weigh: Writer


def _written(found: Parts, values: Mapping[str, Any], ways: _Ways, count: str) -> str:
    return "".join(one if isinstance(one, str) else _part(one, values, ways, count) for one in found)


def _part(part: Part, values: Mapping[str, Any], ways: _Ways, count: str) -> str:
    if part.kind == "count":
        return count
    value, write = values.get(part.name), ways.write
    if part.options is None:
        return ways.weigh(value) if part.kind == "mass" else write(value)
    chosen = part.options.get(f"={write(value)}") if part.kind == "plural" else part.options.get(str(value))
    if chosen is None and part.kind == "plural":
        chosen = part.options.get(ways.form(value))
    if chosen is None:
        chosen = part.options["other"]
    return _written(chosen, values, ways, write(value) if part.kind == "plural" else count)


def _parts(text: str, at: int, *, counted: bool, nested: bool) -> tuple[Parts, int]:
    found: list[str | Part] = []
    plain = ""
    while at < len(text):
        mark = text[at]
        if mark == "}" and nested:
            break
        if mark == "'":
            quoted, at = _quoted(text, at, counted)
            plain += quoted
        elif mark == "{" or (mark == "#" and counted):
            if plain:
                found.append(plain)
                plain = ""
            part, at = _argument(text, at + 1) if mark == "{" else (Part("count"), at + 1)
            found.append(part)
        else:
            plain += mark
            at += 1
    return (*found, plain) if plain else tuple(found), at


def _quoted(text: str, at: int, counted: bool) -> tuple[str, int]:
    """Two apostrophes are one; one before a mark of the grammar quotes up to the next."""
    following = text[at + 1 : at + 2]
    if following == "'":
        return "'", at + 2
    if following in ("{", "}") or (following == "#" and counted):
        end = text.find("'", at + 1)
        end = len(text) if end < 0 else end
        return text[at + 1 : end], end + 1
    return "'", at + 1


def _argument(text: str, at: int) -> tuple[Part, int]:
    name, at = _word(text, at)
    if text[at : at + 1] == "}":
        return Part("value", name), at + 1
    kind, at = _word(text, _past(text, at, ","))
    if kind == "number":
        return _number(text, name, at)
    if kind not in ("plural", "select"):
        raise BadMessage(f"{kind!r} is no kind of argument in {text!r}")
    at = _past(text, at, ",")
    options: dict[str, Parts] = {}
    while text[at : at + 1] not in ("}", ""):
        case, at = _word(text, at)
        options[case], at = _parts(text, _past(text, at, "{"), counted=kind == "plural", nested=True)
        at = _skip(text, _past(text, at, "}"))
    if "other" not in options:
        raise BadMessage(f"a choice without `other` in {text!r}")
    return Part("plural" if kind == "plural" else "select", name, options), _past(text, at, "}")


def _number(text: str, name: str, at: int) -> tuple[Part, int]:
    if text[at : at + 1] != ",":
        return Part("value", name), _past(text, at, "}")
    style, at = _word(text, _past(text, at, ","))
    if style != "mass":
        raise BadMessage(f"{style!r} is no style of a number in {text!r}")
    return Part("mass", name), _past(text, at, "}")


def _word(text: str, at: int) -> tuple[str, int]:
    start = at = _skip(text, at)
    while at < len(text) and text[at] not in "{},' \t\n#":
        at += 1
    if at == start:
        raise BadMessage(f"a name is missing at character {at} of {text!r}")
    return text[start:at], _skip(text, at)


def _skip(text: str, at: int) -> int:
    while at < len(text) and text[at].isspace():
        at += 1
    return at


def _past(text: str, at: int, mark: str) -> int:
    if text[at : at + 1] != mark:
        raise BadMessage(f"expected {mark!r} at character {at} of {text!r}")
    return _skip(text, at + 1) if mark == "," else at + 1
