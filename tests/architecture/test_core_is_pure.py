"""The core is standard library only and gives the same bits on every host.

Hosts, and even processors, differ in the last bits of the library's exp, log, powers and
trigonometry, and Python versions differ in `sum` of floats; a clock, a file or chance would make two
hosts disagree outright. So the core's source is read, and what it may use is listed here.
"""

import ast
from collections.abc import Iterator, Set
from pathlib import Path

import pytest

import fallowside

PACKAGE = Path(fallowside.__file__).parent
# The package's own __init__ runs first wherever the core is imported, the browser included.
FILES = [PACKAGE / "__init__.py", *sorted((PACKAGE / "core").rglob("*.py"))]

MODULES = {
    "abc",
    "bisect",
    "collections",
    "dataclasses",
    "datetime",
    "enum",
    "functools",
    "heapq",
    "itertools",
    "json",
    "math",
    "operator",
    "re",
    "types",
    "typing",
}
# Correctly rounded by IEEE 754 or exact on integers, so the same on every host.
MATH = {
    "ceil",
    "comb",
    "copysign",
    "fabs",
    "factorial",
    "floor",
    "fmod",
    "frexp",
    "fsum",
    "gcd",
    "inf",
    "isclose",
    "isfinite",
    "isinf",
    "isnan",
    "isqrt",
    "ldexp",
    "modf",
    "nan",
    "nextafter",
    "pi",
    "sqrt",
    "tau",
    "trunc",
    "ulp",
}
CALLS = {
    "open": "reads or writes a file",
    "print": "writes",
    "input": "reads",
    "eval": "runs text",
    "exec": "runs text",
    "__import__": "hides an import",
    "hash": "differs from run to run",
    "id": "differs from run to run",
    "sum": "differs between Python versions: use math.fsum or a loop",
    "pow": "differs in the last bits: use numeric.power or x * x",
    "now": "reads the clock",
    "utcnow": "reads the clock",
    "today": "reads the clock",
    "fromtimestamp": "reads the host's time zone",
}
# The one room that reads files, the core's own tables, does so once.
READS_TABLES: dict[str, tuple[Set[str], Set[str]]] = {"core/sources.py": ({"pathlib", "tomllib"}, {"open"})}
# Functions that raise and add whole numbers only, which is exact.
WHOLE_NUMBERS = {"core/distributions.py": {"_zeta_less_one"}, "core/elementary.py": {"_logs"}}


def impurities(
    source: str, modules: Set[str] = frozenset(), calls: Set[str] = frozenset(), exact: Set[str] = frozenset()
) -> Iterator[str]:
    """Name what a core file may not use.

    `modules` and `calls` are allowed on top of the lists; functions in `exact` may use `**` and `sum`.
    """
    tree = ast.parse(source)
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and node.name in exact]
    whole_numbers = {inner for function in functions for inner in ast.walk(function)}
    for node in ast.walk(tree):
        line = f"line {getattr(node, 'lineno', 0)}"
        match node:
            case ast.Import(names=names):
                roots = {alias.name.partition(".")[0] for alias in names}
                yield from (f"{line}: imports {root}" for root in roots - MODULES - modules - {"fallowside"})
            case ast.ImportFrom(module=str(module), level=0):
                if module == "math":
                    taken = {alias.name for alias in node.names}
                    yield from (f"{line}: takes math.{name}" for name in sorted(taken - MATH))
                elif module.partition(".")[0] == "fallowside":
                    if module != "fallowside.core" and not module.startswith("fallowside.core."):
                        yield f"{line}: imports {module}"
                elif module.partition(".")[0] not in MODULES | modules:
                    yield f"{line}: imports {module}"
            case ast.Attribute(value=ast.Name(id="math"), attr=name) if name not in MATH:
                yield f"{line}: takes math.{name}"
            case ast.Call(func=ast.Name(id="sum")) | ast.BinOp(op=ast.Pow()) if node in whole_numbers:
                pass
            case ast.Call(func=ast.Name(id="sum"), args=[ast.GeneratorExp(elt=ast.Constant(value=int()))]):
                pass  # a count: whole numbers add up the same everywhere
            case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)) if name in CALLS.keys() - calls:
                if isinstance(node.func, ast.Name) or name not in {"sum", "id", "hash", "pow"}:
                    yield f"{line}: calls {name}, which {CALLS[name]}"
            case ast.BinOp(op=ast.Pow(), left=left, right=right) if not (whole(left) and whole(right)):
                yield f"{line}: ** differs in the last bits: use numeric.power or x * x"
            case ast.AugAssign(op=ast.Pow()):
                yield f"{line}: **= differs in the last bits: use numeric.power or x * x"


def whole(node: ast.expr) -> bool:
    """Tell whether an expression is a whole number as written."""
    return isinstance(node, ast.Constant) and isinstance(node.value, int)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_the_core_uses_only_what_is_the_same_everywhere(path: Path) -> None:
    name = path.relative_to(PACKAGE).as_posix()
    modules, calls = READS_TABLES.get(name, (frozenset(), frozenset()))
    source = path.read_text(encoding="utf-8")
    assert list(impurities(source, modules, calls, WHOLE_NUMBERS.get(name, frozenset()))) == []


@pytest.mark.parametrize(
    "source",
    [
        "import os",
        "import random",
        "import numpy as np",
        "from time import monotonic",
        "from math import exp",
        "import math\nmath.log(2.0)",
        "import fallowside.store\nfrom fallowside.store import log",
        "from fallowside import store",
        "x = 2.0\ny = x ** 2",
        "x = 2.0\ny = 10 ** x",
        "x = 2.0\nx **= 2",
        "pow(2.0, 3)",
        "total = sum([0.1, 0.2])",
        "total = sum(x * 0.1 for x in range(3))",
        "open('x')",
        "from datetime import datetime\ndatetime.now()",
        "from datetime import date\ndate.today()",
        "from pathlib import Path\nPath('x').open()",
        "print('hello')",
        "key = hash('a')",
    ],
)
def test_an_impure_line_is_noticed(source: str) -> None:
    assert list(impurities(source))


@pytest.mark.parametrize(
    "source",
    [
        "from math import fsum, sqrt",
        "from fallowside.core import numeric",
        "tenth = 10 ** 6",
        "many = sum(1 for x in (1, 2) if x > 1)",
        "import json\njson.dumps({})",
    ],
)
def test_a_pure_line_passes(source: str) -> None:
    assert list(impurities(source)) == []
