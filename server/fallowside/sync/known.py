"""What entries of a place may point to, learnt from its set-ups.

What was once set up stays known, even if it is later taken back or changed: so an entry that was
accepted is accepted again wherever the same log is loaded, in whatever order. Whether it still
makes sense is for the plan to say.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from fallowside.core import entries, place
from fallowside.core.entries import Known
from fallowside.core.errors import FallowsideError

Doc = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Knowledge:
    """Set-ups and corrections up to `upto`, and what they make known."""

    upto: int
    docs: tuple[Doc, ...]
    known: Known


@cache
def nothing() -> Knowledge:
    """Give what is known before anything is set up: the feedstocks that are shipped."""
    return Knowledge(0, (), place.fold(()).known())


def learnt(knowledge: Knowledge, docs: Iterable[Doc], upto: int) -> Knowledge:
    """Give what is known after more set-ups and corrections."""
    every = (*knowledge.docs, *docs)
    return Knowledge(upto, every, _known(_variants(every)))


def _variants(docs: Sequence[Doc]) -> list[Doc]:
    """Give every set-up as written and as each correction would have it."""
    setups = {doc["id"]: doc for doc in docs if doc["kind"] == "setup"}
    mended: list[Doc] = []
    for doc in docs:
        of = setups.get(doc["of"]) if doc["kind"] == "correction" else None
        if of is not None and doc["action"] == "replace":
            one = {**of, **doc["with"], "id": doc["id"], "kind": "setup"}
            if entries.problem(one) is None:
                mended.append(one)
    return [*setups.values(), *mended]


def _known(setups: Sequence[Doc]) -> Known:
    folded = place.fold(entries.read(doc) for doc in setups)
    shipped = nothing().known if setups else folded.known()
    types: dict[str, set[str]] = {name: set() for name in folded.stations}
    for doc in setups:
        if doc["what"] == "station" and isinstance(doc["set"].get("type"), str):
            types[doc["item"]].add(doc["set"]["type"])
    return Known(
        # A station that was of two types takes the entries of both.
        stations={name: found.pop() if len(found) == 1 else "" for name, found in types.items()},
        containers=frozenset(folded.containers),
        feedstocks=frozenset(folded.feedstocks) | shipped.feedstocks,
        densities=frozenset(filter(lambda name: _has_density(folded, name), folded.feedstocks))
        | shipped.densities,
        weighed=frozenset(folded.weighed()),
        unmeasured=frozenset(folded.containers.keys() - folded.measures.keys()),
    )


def _has_density(folded: place.Place, feedstock: str) -> bool:
    try:
        return folded.material(feedstock).bulk_density_kg_per_l is not None
    except FallowsideError:
        # Likened to something nobody has described.
        return False
