"""Cold open voltage and hot voltage of generic modules against pvlib's single diode model."""

import numpy as np
import pytest

from engine.formulas.solar import voltage_at

pvlib = pytest.importorskip("pvlib")

# Invented modules in usual sizes: data-sheet point, coefficients in %/K, cells in series.
MODULES = {
    "36 cells": {"v_oc": 22.5, "i_sc": 5.6, "v_mp": 18.4, "i_mp": 5.3, "alpha": 0.05, "beta": -0.32, "cells": 36},
    "60 cells": {"v_oc": 39.8, "i_sc": 9.75, "v_mp": 32.6, "i_mp": 9.21, "alpha": 0.05, "beta": -0.29, "cells": 60},
    "120 half cells": {"v_oc": 41.2, "i_sc": 11.4, "v_mp": 34.5, "i_mp": 10.8, "alpha": 0.045, "beta": -0.26, "cells": 60},
    "144 half cells": {"v_oc": 49.5, "i_sc": 13.85, "v_mp": 41.65, "i_mp": 12.97, "alpha": 0.048, "beta": -0.27, "cells": 72},
}


def fitted(module):
    """De Soto parameters of a data sheet, by pvlib."""
    parameters, _ = pvlib.ivtools.sdm.fit_desoto(
        module["v_mp"],
        module["i_mp"],
        module["v_oc"],
        module["i_sc"],
        module["alpha"] / 100 * module["i_sc"],
        module["beta"] / 100 * module["v_oc"],
        module["cells"],
        root_kwargs={"method": "lm"},
    )
    return parameters


def point(module, parameters, celsius):
    """Open voltage and voltage at full power in full sun at a cell temperature, by pvlib."""
    five = pvlib.pvsystem.calcparams_desoto(
        1000.0,
        celsius,
        module["alpha"] / 100 * module["i_sc"],
        parameters["a_ref"],
        parameters["I_L_ref"],
        parameters["I_o_ref"],
        parameters["R_sh_ref"],
        parameters["R_s"],
    )
    found = pvlib.pvsystem.singlediode(*(np.asarray(v) for v in five))
    return float(np.squeeze(found["v_oc"])), float(np.squeeze(found["v_mp"]))


@pytest.mark.parametrize("name", MODULES)
@pytest.mark.parametrize("celsius", [-30, -20, -10, 0, 10])
def test_cold_voc_is_on_the_safe_side_of_the_diode_model(name, celsius):
    """The straight line gives at least what pvlib gives, and at most 0.3 % more."""
    module = MODULES[name]
    theirs, _ = point(module, fitted(module), celsius)
    ours = voltage_at(module["v_oc"], module["beta"] / 100, celsius + 273.15)
    assert theirs * (1 - 1e-4) <= ours <= theirs * 1.003


@pytest.mark.parametrize("name", MODULES)
def test_the_steepest_usual_slope_of_hot_vmp_errs_to_the_safe_side(name):
    """Where no coefficient is answered, hot Vmp by -0.5 %/K stays below pvlib's."""
    module = MODULES[name]
    _, theirs = point(module, fitted(module), 70)
    assert voltage_at(module["v_mp"], -0.005, 343.15) < theirs
