"""Sample inputs for the test that calls every formula.

`UNITS` holds a value for each unit; `SAMPLES` holds values for formulas whose domain is narrower
or that want a word. Add a line `"module.function": {"parameter": value}` there where the defaults do not do.
Sequences are given as tuples.
"""

UNITS = {
    "m": 12.0,
    "m**2": 35e-6,
    "s": 7.0,
    "K": 313.15,
    "1/K": -0.0027,
    "A": 63.0,
    "V": 230.0,
    "V/K": -0.004,
    "ohm": 0.012,
    "ohm/m": 0.0005,
    "W": 2200.0,
    "VA": 5000.0,
    "var": 1300.0,
    "J": 3.6e6,
    "J/d": 1.4e7,
    "C": 3.6e5,
    "F": 2.2e-3,
    "1/s": 2e-6,
    "bit/s": 5e5,
    "m**3/s": 1e-3,
    "A**2*s": 4000.0,
    "1": 0.8,
    "ratio": 0.9,
    "radian": 0.5,
    "m/s": 3e8,
    "m*bit/s": 1e8,
    "m**3/C": 1.4e-5,
    "s/m": 10.0,
    "A*s**0.5/m**2": 115e6,
}

SAMPLES: dict[str, dict[str, object]] = {
    "battery.unit_limit": {"bank_limit": 190.0, "own_limit": 80.0},
    "generator.unit_incoming": {"current": 63.0, "own_limit": 40.0},
    "generator.altitude_factor": {"altitude": 2400.0, "slope": 0.03, "steep": 0.06, "step": 304.8, "knee": 1828.8},
    "motors.interpolated": {"at": 0.025, "places": (0.01, 0.02, 0.03), "values": (1.0, 0.95, 0.89)},
    "solar.most_in_series": {"limit": 600.0, "cold_voltage": 54.2},
    "solar.least_in_series": {"minimum": 150.0, "hot_voltage": 28.0},
    "sharing.branch_current": {"place": 1},
    "ampacity.harmonic_design_current": {"selects": "neutral"},
    "segregation.circuit_count": {"current": 41.0},
}
