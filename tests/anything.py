"""A Hypothesis strategy made from the description of the entries: whatever the judge lets through."""

from typing import Any

from hypothesis import strategies as st

from fallowside.core import entries, materials
from tests.logs import Raw, setups, time

_SPEC = entries.spec()
_YEAR_MINUTES = 366 * 24 * 60


def _span(low: float, high: float) -> st.SearchStrategy[float]:
    """Give a number between two bounds, the bounds themselves among the first tried."""
    return st.sampled_from([low, high]) | st.floats(low, high, allow_subnormal=False)


def _quantity(bounds: str, *, zero: bool = True) -> st.SearchStrategy[Raw]:
    made = []
    for unit, limits in _SPEC["bounds"][bounds].items():
        low, high = limits["low"], limits["high"]
        least = low if zero else max(low, high * 1e-6)
        made.append(st.fixed_dictionaries({"value": _span(least, high), "unit": st.just(unit)}))
    return st.one_of(made)


def _field(rule: dict[str, Any], things: dict[str, list[str]]) -> st.SearchStrategy[Any]:
    kind = rule["type"]
    if kind in ("choice", "choices"):
        one = st.sampled_from(rule["choices"])
        return one if kind == "choice" else st.lists(one, min_size=1, max_size=3, unique=True)
    if kind == "quantity":
        return _quantity(rule["bounds"])
    if kind == "amount":
        return _quantity(rule["bounds"], zero=rule.get("zero", False)) | _span(0.01, 3.0).map(
            lambda part: {"container": "caddy", "filled": part}
        )
    if kind in ("number", "integer"):
        low, high = rule["low"], rule["high"]
        return _span(low, high) if kind == "number" else st.sampled_from([low, high]) | st.integers(low, high)
    if kind == "counts":
        return st.lists(st.integers(rule["low"], rule["high"]), min_size=1, max_size=rule["most"])
    if kind == "numbers":
        return st.lists(_span(rule["low"], rule["high"]), min_size=rule["count"], max_size=rule["count"])
    if kind == "name":
        return st.sampled_from(things.get(rule.get("of", ""), ["bed", "elsewhere"]))
    return {
        "text": st.sampled_from(["carp", "x", "a name of several words"]),
        "flag": st.booleans(),
        "time": st.integers(0, _YEAR_MINUTES).map(time),
        "day": st.dates().filter(lambda day: 2000 <= day.year <= 2100).map(lambda day: day.isoformat()),
        "names": st.just(["bed", "bin"]),
        "photos": st.just(["0" * 64]),
        "object": st.just({}),
    }[kind]


def _fields(rules: dict[str, Any], things: dict[str, list[str]]) -> st.SearchStrategy[Raw]:
    must = {name: _field(rule, things) for name, rule in rules.items() if rule.get("required")}
    may = {name: _field(rule, things) for name, rule in rules.items() if not rule.get("required")}
    return st.fixed_dictionaries(must, optional=may)


@st.composite
def logs_of_anything(draw: st.DrawFn, most: int = 12) -> list[Raw]:
    """Draw a log of any kinds, with any values between the bounds the judge believes."""
    things = {"feedstock": [*(one.name for one in materials.all()), "pulp"]}
    made = setups()
    for number in range(draw(st.integers(0, 3))):
        what, item = draw(
            st.sampled_from(
                [("place", "place"), ("container", "caddy"), ("feedstock", "pulp")]
                + [("station", name) for name in ("bed", "bin", "pond", "hive")]
            )
        )
        rules = {name: rule for name, rule in _SPEC["setup"][what].items() if name not in ("type", "like")}
        made.append(
            {
                "id": f"s{number}",
                "kind": "setup",
                "at": time(draw(st.integers(0, _YEAR_MINUTES))),
                "what": what,
                "item": item,
                "set": draw(_fields(rules, things)),
            }
        )
    kinds = sorted(set(_SPEC["kinds"]) - {"setup", "correction"})
    for number in range(draw(st.integers(0, most))):
        name = draw(st.sampled_from(kinds))
        kind = _SPEC["kinds"][name]
        rules = dict(kind.get("fields", {}))
        if some := kind.get("some_of"):
            one = draw(st.sampled_from(some))
            rules[one] = {**rules[one], "required": True}
        body = draw(_fields(rules, things))
        if kind["stations"]:
            body["station"] = draw(st.sampled_from(kind["stations"]))
            if kind.get("side") or body["station"] == "bed":
                body["side"] = draw(st.sampled_from(["a", "b"]))
        minute = draw(st.integers(0, _YEAR_MINUTES))
        made.append({"id": f"e{number:03d}", "kind": name, "at": time(minute), **body})
    return made
