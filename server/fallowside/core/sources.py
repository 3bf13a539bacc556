"""Published numbers and the places they come from, read once from `core/data/*.toml`.

A data file holds two tables. `[sources.KEY]` says where a figure was published:
`cite` (author, year, title) and, where known, `doi`. `[constants.NAME]` holds one figure:
`value`, `unit` (a name pint parses), `low` and `high` (the spread of published values, not the
range in which a law holds), `source` (a key of the same file), `where` (table, page, abstract),
`basis` (wet, dry, live, none), `confidence` and, if there is more to say, `note`.
"""

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from fallowside.core.errors import UnknownName

Confidence = Literal["seen", "quoted", "computed", "memory", "practice"]
"""seen: read in the source. quoted: read in a text that quotes it. computed: arithmetic on such
figures. memory: recalled, to be confirmed. practice: common practice, no source."""

_DATA = Path(__file__).with_name("data")


@dataclass(frozen=True, slots=True)
class Constant:
    """One figure with its unit, spread and origin."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    cite: str
    where: str
    basis: str
    confidence: Confidence
    note: str


@cache
def table(subject: str) -> Mapping[str, Any]:
    """Give the whole of `core/data/<subject>.toml`, read once."""
    with (_DATA / f"{subject}.toml").open("rb") as file:
        return MappingProxyType(tomllib.load(file))


@cache
def sheet(name: str) -> Mapping[str, Any]:
    """Give the whole of `core/data/<name>.json`, a table that the phone reads too, read once."""
    return MappingProxyType(json.loads((_DATA / f"{name}.json").read_text(encoding="utf-8")))


@cache
def constants(subject: str) -> Mapping[str, Constant]:
    """Give the constants of one data file by their short names."""
    tables = table(subject)
    cites = {key: str(row["cite"]) for key, row in tables.get("sources", {}).items()}
    return MappingProxyType(
        {
            name: Constant(
                name=f"{subject}.{name}",
                value=float(row["value"]),
                unit=row["unit"],
                low=float(row["low"]),
                high=float(row["high"]),
                cite=cites[row["source"]],
                where=row.get("where", ""),
                basis=row.get("basis", "none"),
                confidence=row["confidence"],
                note=row.get("note", ""),
            )
            for name, row in tables.get("constants", {}).items()
        }
    )


def constant(name: str) -> Constant:
    """Give the constant called `subject.name`.

    Raises:
        UnknownName: no data file holds it.
    """
    subject, _, short = name.partition(".")
    known = constants(subject)
    if short not in known:
        raise UnknownName(f"constant of {subject}", short, known)
    return known[short]


def value(name: str) -> float:
    """Give the bare number of the constant called `subject.name`, in its own unit."""
    return constant(name).value


def subjects() -> tuple[str, ...]:
    """Name every data file that holds constants."""
    return tuple(sorted(path.stem for path in _DATA.glob("*.toml") if "constants" in table(path.stem)))
