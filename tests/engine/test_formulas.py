"""Every formula, called with units: dimension and size of its result are those it promises; and its docstring tells the truth."""

import doctest
import importlib
import inspect
import math
import pkgutil
import re
from typing import get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

import engine.formulas
from engine.formulas.ampacity import cooler_factor
from engine.formulas.leads import drawn_current, end_voltage
from engine.formulas.phasors import rotation, voltage_between
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


# Where a formula breaks at no round value.
CORNERS = {"resistance.warm_resistance": {"coefficient": 0.004, "reference": 50.0, "told_at": 300.0}}


def told_range(function):
    """What the docstring says under `Range:`, up to its example."""
    text = inspect.getdoc(function)
    assert text.count("Range: ") == 1
    return text.partition("Range: ")[2].partition(">>>")[0]


def probes(name, function):
    """The sample inputs, each value in turn made 0, negative, large, and each sequence empty, short, negative, nothing but zeros."""
    values, units = inputs(name, function)
    yield values
    yield values | CORNERS.get(name, {})
    for parameter, value in values.items():
        if isinstance(value, tuple):
            others = [(), value[:1], value[:-1], tuple(-v for v in value), tuple(0 * v for v in value), (value[0],) * len(value)]
        elif isinstance(value, str):
            others = ["neither"]
        else:
            # A place is a number of a branch, not of anything; one beyond the end is what may happen to it.
            others = [99] if parameter == "place" else [0 * value, -value, 3 * value] + ([1e-6 * value, 1e6 * value] if units[parameter] not in (None, "1", "ratio") else [])
        for other in others:
            yield values | {parameter: other}


@pytest.mark.parametrize("name", sorted(ALL))
def test_formula_gives_a_real_number_or_the_error_it_tells_of(name):
    """Whatever it is called with: a finite float, or an exception that its docstring names; and each one that it names is raised."""
    told, raised = set(re.findall(r"\b[A-Z]\w+Error\b", told_range(ALL[name]))), set()
    for values in probes(name, ALL[name]):
        try:
            found = ALL[name](**values)
        except Exception as problem:  # noqa: BLE001 - which one it is, is the question
            raised.add(type(problem).__name__)
        else:
            assert isinstance(found, float | int) and math.isfinite(found), values
    assert raised == told


@pytest.mark.parametrize("name", sorted(ALL))
def test_formula_shows_an_example(name):
    """An example that calls it, and gives what stands below it."""
    function = ALL[name]
    assert re.search(rf">>> .*\b{function.__name__}\(", inspect.getdoc(function))
    module = importlib.import_module(function.__module__)
    [test] = doctest.DocTestFinder(recurse=False).find(function, globs=vars(module))
    outcome = doctest.DocTestRunner(verbose=False).run(test, out=lambda _: None)
    assert outcome.attempted >= 1
    assert outcome.failed == 0


@given(st.floats(1, 1000), st.floats(1e-6, 10), st.floats(0, 1e6))
def test_a_lead_carries_its_load_or_says_that_it_cannot(voltage, resistance, power):
    """P = (U - R I) I at the higher end voltage, at least half of U; ValueError where no current gives that power."""
    if 4 * power * resistance > voltage**2 * (1 + 1e-6):
        with pytest.raises(ValueError, match="cannot carry"):
            drawn_current(voltage, resistance, power)
    elif 4 * power * resistance <= voltage**2:
        current = drawn_current(voltage, resistance, power)
        assert end_voltage(voltage, resistance, current) * current == pytest.approx(power)
        assert end_voltage(voltage, resistance, current) >= voltage / 2 * (1 - 1e-6)


@pytest.mark.parametrize(("voltage", "resistance", "power"), [(10, 1, 1000), (0, 1, 1), (-10, 1, 1), (50, 0.1, 6251)])
def test_a_lead_that_cannot_carry_is_refused(voltage, resistance, power):
    with pytest.raises(ValueError):
        drawn_current(voltage, resistance, power)


@given(st.floats(0, 1e4), st.floats(-10, 10))
def test_like_phasors_have_no_voltage_between_them(size, angle):
    assert voltage_between(size, angle, size, angle) == pytest.approx(0, abs=1e-6 * max(size, 1))


@pytest.mark.parametrize(("degrees", "sense"), [((0, -120, 120), 1), ((0, 120, -120), -1), ((-120, 120, 0), 1), ((10, 250, 130), 1)])
def test_rotation_is_that_of_all_three(degrees, sense):
    assert rotation([math.radians(d) for d in degrees]) == sense


@pytest.mark.parametrize("degrees", [(0, 0, 0), (0, 0, 120), (0, 120, 0)])
def test_phases_that_coincide_have_no_rotation(degrees):
    with pytest.raises(ValueError, match="no sense"):
        rotation([math.radians(d) for d in degrees])


@pytest.mark.parametrize(("terminal", "limit"), [(300.0, 343.15), (313.15, 303.15), (313.15, 300.0), (300.0, 300.0)])
def test_surroundings_as_hot_as_a_limit_leave_no_rise(terminal, limit):
    """At 303.15 K (30 degC): a terminal that stands less, a conductor that stands no more, or both."""
    with pytest.raises(ValueError, match="no rise"):
        cooler_factor(terminal, limit, 303.15)


def test_a_terminal_just_as_hot_as_its_surroundings_stands_nothing():
    assert cooler_factor(303.15, 343.15, 303.15) == 0
