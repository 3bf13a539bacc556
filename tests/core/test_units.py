"""Units as entered: every pair against pint, and what is refused."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core import sources, units
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.exchange import unit_table

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
NAMES = list(sources.sheet("units"))
PAIRS = [(one, to) for one in NAMES for to in NAMES if units.kind_of(one) == units.kind_of(to)]


def test_the_table_is_as_pint_would_write_it_today() -> None:
    assert unit_table.TARGET.read_text(encoding="utf-8") == unit_table.text()


@pytest.mark.parametrize("value", [1.0, 0.37, 2500.0, -12.5])
def test_every_pair_of_units_agrees_with_pint(value: float) -> None:
    """pint 0.25; a temperature may be near zero on one scale only, so 1e-12 of 300 K is granted."""
    for one, to in PAIRS:
        wanted = PINT.Quantity(value, one).to(to).magnitude
        grace = 3e-10 if units.kind_of(one) == "temperature" else 0.0
        assert units.convert(value, one, to) == pytest.approx(wanted, rel=1e-12, abs=grace), (one, to)


def test_the_models_units_are_few() -> None:
    few = {"kg", "L", "m", "m^2", "degC", "mg/L", "1", "s"}
    assert {units.to_si(1.0, name)[1] for name in NAMES} == few


@given(st.floats(-1e9, 1e9), st.sampled_from(PAIRS))
def test_there_and_back_is_where_it_began(value: float, pair: tuple[str, str]) -> None:
    one, to = pair
    back = units.convert(units.convert(value, one, to), to, one)
    assert back == pytest.approx(
        value, rel=1e-12, abs=1e-9 if units.kind_of(one) == "temperature" else 1e-300
    )


@pytest.mark.parametrize(
    ("value", "unit", "si"),
    [
        (2500, "g", 2.5),
        (250, "mL", 0.25),
        (30, "cm", 0.3),
        (212, "degF", 100.0),
        (18, "%", 0.18),
        (7, "kg", 7.0),
    ],
)
def test_round_figures_stay_round(value: float, unit: str, si: float) -> None:
    assert units.to_si(value, unit)[0] == si


@pytest.mark.parametrize(("oz", "kind"), [("oz", "mass"), ("fluid_ounce", "volume")])
def test_the_two_ounces_are_kept_apart(oz: str, kind: str) -> None:
    assert units.kind_of(oz) == kind


@pytest.mark.parametrize("unit", ["ton", "", "KG", "handful", "kg ", "kg*m", "__class__"])
def test_an_unknown_unit_is_refused_with_the_list_of_known_ones(unit: str) -> None:
    with pytest.raises(UnknownName, match=r"use one of: .*bushel.*kg"):
        units.to_si(1.0, unit)


def test_kilograms_do_not_become_litres_and_the_text_lists_the_units_of_mass() -> None:
    with pytest.raises(UnknownName, match=r"no unit of mass is called 'L'; use one of: g, kg, lb"):
        units.convert(1.0, "kg", "L")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("unit", ["kg", "degF"])
def test_what_is_no_number_is_refused(value: float, unit: str) -> None:
    with pytest.raises(OutOfRange):
        units.to_si(value, unit)


def test_a_value_too_large_to_turn_is_refused_rather_than_made_infinite() -> None:
    with pytest.raises(OutOfRange):
        units.to_si(1.7e308, "tonne")
    with pytest.raises(OutOfRange):
        units.convert(1e306, "kg", "mg")


def test_each_symbol_is_short_enough_for_a_button() -> None:
    assert max(len(units.symbol(name)) for name in NAMES) <= 9
    assert (units.symbol("degF"), units.symbol("m^3"), units.symbol("L")) == ("°F", "m³", "L")


def test_a_list_for_choosing_names_each_unit_once() -> None:
    assert units.names("mass") == ("kg", "g", "mg", "tonne", "lb", "oz", "stone", "short_ton", "long_ton")
    assert len(set(units.names())) == len(units.names()) < len(NAMES)
