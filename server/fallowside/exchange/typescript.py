"""Writes what the web app is told of the core, so that nothing of it is typed by hand.

These are the shapes of a plan and of a sync call as types, and the kinds of entry, units and feedstocks as
data. Run it with `python -m fallowside.exchange.typescript`; a test fails while the files are stale.
"""

import inspect
import json
import types
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import (
    Annotated,
    Any,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from fallowside.core import bucketshapes, entries, plan, shapes, sources
from fallowside.core.water import watershapes
from fallowside.sync import shapes as syncshapes

GENERATED = Path(__file__).parents[3] / "web" / "src" / "generated"

_PLAIN: Mapping[Any, str] = {
    str: "string",
    int: "number",
    float: "number",
    bool: "boolean",
    types.NoneType: "null",
    object: "unknown",
    Any: "unknown",
}


def files() -> dict[str, str]:
    """Give the text of each generated file by its name."""
    return {
        "shapes.ts": "\n".join(declarations({**vars(shapes), **vars(bucketshapes)})),
        "watershapes.ts": "\n".join(declarations(vars(watershapes), vars(shapes))),
        "syncshapes.ts": "\n".join(declarations(vars(syncshapes))),
        "knowledge.json": json.dumps(knowledge(), ensure_ascii=False, indent=1, allow_nan=False) + "\n",
    }


def knowledge() -> dict[str, Any]:
    """Give what the phone knows of entries without asking: kinds, bounds, set-up, units and feedstocks."""
    unset = plan.plan([], "2026-01-01T00:00Z")
    return {
        **{part: entries.spec()[part] for part in ("envelope", "bounds", "kinds", "setup")},
        "units": dict(sources.sheet("units")),
        "feedstocks": unset["place"]["feedstocks"],
    }


def declarations(names: Mapping[str, Any], known: Mapping[str, Any] | None = None) -> Iterator[str]:
    """Write each TypedDict, and each union that has a name; those `known` stand in the file of shapes."""
    yield "// Made from the server's shapes by `make shapes`; changed there, never here."
    if known:
        taken = sorted(name for name, one in names.items() if is_typeddict(one) and known.get(name) is one)
        yield f'import type {{ {", ".join(taken)} }} from "./shapes";'
        names = {name: one for name, one in names.items() if name not in taken}
    unions = {value: name for name, value in names.items() if isinstance(value, types.UnionType)}
    for union, name in unions.items():
        yield f"\nexport type {name} = {_type(union, {})};"
    for name, shape in names.items():
        if not is_typeddict(shape):
            continue
        yield f"\n/** {' '.join(inspect.cleandoc(shape.__doc__ or '').split())} */"
        yield f"export type {name} = {{"
        for key, hint in get_type_hints(shape, include_extras=True).items():
            optional = get_origin(hint) is NotRequired
            kept = get_args(hint)[0] if optional else hint
            yield f"  readonly {key}{'?' if optional else ''}: {_type(kept, unions)};"
        yield "};"
    yield ""


def _type(hint: Any, unions: Mapping[Any, str]) -> str:
    """Give a type of Python as one of TypeScript; what is read is read-only."""
    if hint in unions:
        return unions[hint]
    if hint in _PLAIN:
        return _PLAIN[hint]
    if is_typeddict(hint):
        return str(hint.__name__)
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _type(inner[0], unions)
    if origin is Literal:
        return " | ".join(json.dumps(choice) for choice in inner)
    if origin in (Union, types.UnionType):
        return " | ".join(dict.fromkeys(_type(one, unions) for one in inner))
    if origin is list:
        of = _type(inner[0], unions)
        return f"readonly ({of})[]" if " " in of else f"readonly {of}[]"
    if origin is dict and inner[0] is str:
        return f"Readonly<Record<string, {_type(inner[1], unions)}>>"
    raise TypeError(f"{hint!r} has no form in TypeScript here; add one, or use a shape that has")


def main() -> None:
    """Write the generated files."""
    GENERATED.mkdir(parents=True, exist_ok=True)
    for name, text in files().items():
        (GENERATED / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
