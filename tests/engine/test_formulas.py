"""Every formula, called with units: dimension and size of its result are those it promises."""

import importlib
import inspect
import math
import pkgutil
from typing import get_type_hints

import pytest

import engine.formulas
from engine.quantities import registry
from engine.workings import _unit, signature
from tests.engine.formula_samples import SAMPLES, UNITS


def formulas():
    """Name and function of every public formula there is."""
    for module in pkgutil.iter_modules(engine.formulas.__path__):
        if module.name.startswith("_"):
            continue
        loaded = importlib.import_module(f"engine.formulas.{module.name}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if function.__module__ == loaded.__name__ and not name.startswith("_"):
                yield f"{module.name}.{name}", function


ALL = dict(formulas())


def inputs(name, function):
    """Plain sample values by parameter, and the unit of each (None for a count or a word)."""
    hints = get_type_hints(function, include_extras=True)
    values, units = {}, {}
    for parameter in inspect.signature(function).parameters.values():
        unit, many = _unit(hints[parameter.name])
        given = SAMPLES.get(name, {}).get(parameter.name)
        if given is None:
            if parameter.default is not inspect.Parameter.empty:
                given = parameter.default
            elif unit is None:
                assert hints[parameter.name] is int, f"{name}({parameter.name}) needs a line in formula_samples"
                given = 3
            else:
                one = UNITS[unit]
                given = (one, one * 0.9, one * 1.05) if many else one
        values[parameter.name], units[parameter.name] = given, unit
    return values, units


@pytest.mark.parametrize("name", sorted(ALL))
def test_formula_keeps_its_dimension_and_its_size(name):
    """With quantities in the annotated units a formula gives the annotated unit and the float's size."""
    function = ALL[name]
    values, units = inputs(name, function)
    plain = function(**values)
    assert isinstance(plain, float | int)
    assert math.isfinite(plain)
    quantity = registry().Quantity

    def carried(value, unit):
        return tuple(quantity(v, unit) for v in value) if isinstance(value, tuple) else quantity(value, unit)

    told = quantity(1.0, {"1": "", "ratio": ""}.get(signature(function).result, signature(function).result))
    result = function(**{k: v if units[k] is None else carried(v, {"1": "", "ratio": ""}.get(units[k], units[k])) for k, v in values.items()})
    if not hasattr(result, "dimensionality"):
        result = quantity(result, "")
    assert result.dimensionality == told.dimensionality
    assert result.to(told.units).magnitude == pytest.approx(plain, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("name", sorted(ALL))
def test_formula_tells_equation_and_source(name):
    """A formula says what it computes, by which equation, from which source, and annotates all it takes."""
    function = ALL[name]
    told = signature(function)
    assert told.equation
    assert told.source
    assert inspect.getdoc(function).splitlines()[0].strip()
    assert set(inspect.signature(function).parameters) | {"return"} == set(get_type_hints(function))


def test_samples_name_formulas_that_exist():
    """No line of the samples is left over from a formula or parameter that is gone."""
    for name, values in SAMPLES.items():
        assert name in ALL
        assert set(values) <= set(inspect.signature(ALL[name]).parameters), name


def test_a_formula_with_a_wrong_dimension_would_be_caught():
    """The comparison fails where a formula promises amperes and gives volts."""
    quantity = registry().Quantity
    assert quantity(1.0, "V").dimensionality != quantity(1.0, "A").dimensionality
