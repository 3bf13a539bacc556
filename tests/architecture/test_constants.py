"""Every published figure has a unit that pint reads, a spread that holds it, and a source."""

from collections.abc import Iterator
from math import isfinite
from typing import Any

import pint
import pytest

from fallowside.core import sources

CONSTANTS = [constant for subject in sources.subjects() for constant in sources.constants(subject).values()]
UNITS: pint.UnitRegistry[Any] = pint.UnitRegistry()


@pytest.mark.parametrize("constant", CONSTANTS, ids=lambda constant: constant.name)
def test_a_constant_has_a_unit_a_spread_and_a_source(constant: sources.Constant) -> None:
    UNITS.parse_units(constant.unit)
    assert all(isfinite(figure) for figure in (constant.low, constant.value, constant.high))
    assert constant.low <= constant.value <= constant.high
    assert constant.cite.strip()
    assert constant.confidence in ("seen", "quoted", "computed", "memory", "practice")


def test_there_are_constants() -> None:
    assert len(CONSTANTS) > 50


@pytest.mark.parametrize("subject", sources.subjects())
def test_every_row_names_a_source_that_stands_in_its_file(subject: str) -> None:
    table = sources.table(subject)
    named = set(source_names({key: rows for key, rows in table.items() if key != "sources"}))
    assert named <= set(table["sources"])


def source_names(rows: Any) -> Iterator[str]:
    """Give every `source` named anywhere below."""
    if isinstance(rows, dict):
        for key, value in rows.items():
            if key == "source" and isinstance(value, str):
                yield value
            else:
                yield from source_names(value)
    elif isinstance(rows, list):
        for value in rows:
            yield from source_names(value)
