"""A part of a bucket as it is typed on a command line: what it is, and how much."""

import difflib
import re
from collections.abc import Iterable
from typing import Any

from fallowside.core import units
from fallowside.core.errors import BadBucket, UnknownName

_MOST_NEAR = 6
_PART = re.compile(r"\s*([^=\s]+)\s*=\s*([0-9]*[.,]?[0-9]+)\s*(\S.*?)\s*")


def part(text: str) -> dict[str, Any]:
    """Read a part such as `fish_heads=2kg` or `bread=0.5 grey-pail`.

    A word that is no unit is the name of a container, and the number how many of it.

    Raises:
        BadBucket: not such a text.

    >>> part("fish_heads=2kg")
    {'feedstock': 'fish_heads', 'amount': {'value': 2.0, 'unit': 'kg'}}
    >>> part("bread = 0.5 grey-pail")
    {'feedstock': 'bread', 'amount': {'container': 'grey-pail', 'filled': 0.5}}
    """
    read = _PART.fullmatch(text)
    if read is None:
        example = "fish_heads=2kg, or bread=0.5 pail for half of a container called pail"
        raise BadBucket("bad_part", "bucket", f"{text!r} is no part of a bucket; write {example}", {})
    name, number, word = read[1], float(read[2].replace(",", ".")), read[3]
    try:
        units.to_si(number, word)
    except UnknownName:
        return {"feedstock": name, "amount": {"container": word, "filled": number}}
    return {"feedstock": name, "amount": {"value": number, "unit": word}}


def with_near(error: BadBucket, known: Iterable[str]) -> BadBucket:
    """Give an error with the names that are near the one nobody knows, where that is what is wrong."""
    if error.code != "unknown_feedstock":
        return error
    found = near(str(error.values["feedstock"]), known)
    more = f"; near it are {', '.join(found)}" if found else ""
    return BadBucket(error.code, error.field, f"{error}{more}", error.values)


def near(name: str, known: Iterable[str]) -> list[str]:
    """Give the names that share a word with one, or else are spelt nearly like it.

    >>> near("fish", ["bread", "fish_heads", "smoked_fish"]), near("bred", ["bread", "hay"])
    (['fish_heads', 'smoked_fish'], ['bread'])
    """
    names = sorted(known)
    wanted = {part.removesuffix("s") for part in re.split(r"[\W_]+", name.casefold()) if part}
    sharing = [
        one for one in names if wanted & {part.removesuffix("s") for part in one.casefold().split("_")}
    ]
    return sharing[:_MOST_NEAR] or difflib.get_close_matches(name.casefold(), names, _MOST_NEAR)
