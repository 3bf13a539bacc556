"""A part of a bucket as it is typed on a command line: what it is, and how much."""

import re
from typing import Any

from fallowside.core import units
from fallowside.core.errors import BadBucket, UnknownName

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
