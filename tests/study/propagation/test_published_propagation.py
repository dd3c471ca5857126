"""Propagation examples whose answers are printed or known in closed form.

Compared within 4 standard errors of our own sampling error, at a fixed seed.
"""

import numpy as np
import pytest

from brewsim.distributions.constructors import normal, student_t, uniform
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.propagation.coverage import coverage_interval
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from tests.study.models import sum_of_four, within

DRAWS = 2**17


def table_of(problem, coverage=0.95):
    draws = simulate(problem, DRAWS)
    name = problem.outcomes[0]
    return draws[name].to_numpy(), summarise(draws, coverage).sel(outcome=name)


def agrees(row, figure, exact):
    return within(float(row[figure]), exact, float(row[f"{figure}_error"]))


def shortest(values, p=0.95):
    """Return the shortest interval and the half width of its 95 % sampling interval."""
    each = np.array([coverage_interval(v, p, "shortest") for v in values.reshape(8, -1)])
    return coverage_interval(values, p, "shortest"), half_width(each)


def four(ends):
    return Problem.of([sum_of_four], dict(zip(("x1", "x2", "x3", "x4"), ends, strict=True)))


ROOT3 = np.sqrt(3)
END_9_2_4 = 17.015814


@pytest.mark.parametrize(
    ("distributions", "u", "end"),
    [
        ([normal(0, 1)] * 4, 2.0, 3.919928),
        ([uniform(-ROOT3, ROOT3)] * 4, 2.0, 3.879407),
        (
            [uniform(-ROOT3, ROOT3)] * 3 + [uniform(-10 * ROOT3, 10 * ROOT3)],
            np.sqrt(103),
            END_9_2_4,
        ),
    ],
    ids=["9.2.2", "9.2.3", "9.2.4"],
)
def test_the_additive_model_of_jcgm_101(distributions, u, end):
    """JCGM 101:2008, 9.2.2 to 9.2.4 (tables 2 and 3: u = 2.0, 95 % ±3.92 and ±3.88).

    Ends in more digits: 1.959964 x 2; 2 sqrt 3 (2 - .6^.25); by integration for the third.
    """
    _, row = table_of(four(distributions))

    assert agrees(row, "estimate", 0.0)
    assert agrees(row, "standard_uncertainty", u)
    assert agrees(row, "high", end)
    assert agrees(row, "low", -end)


def mass_error_mg(reference_mg, addition_mg, air_kg_m3, weight_kg_m3, standard_kg_m3):
    buoyancy = 1 + (air_kg_m3 - 1.2) * (1 / weight_kg_m3 - 1 / standard_kg_m3)
    return (reference_mg + addition_mg) * buoyancy - 100_000


def test_the_mass_calibration_of_jcgm_101():
    """JCGM 101:2008, 9.3: 1.2341 mg, u 0.0754 mg, 95 % [1.0834, 1.3825] mg (table 5).

    Recomputed with 2e7 draws: mean 1.234 exactly, u 0.0754797, symmetric [1.0844, 1.3835].
    """
    problem = Problem.of(
        [mass_error_mg],
        {
            "reference_mg": normal(100_000, 0.050),
            "addition_mg": normal(1.234, 0.020),
            "air_kg_m3": uniform(1.10, 1.30),
            "weight_kg_m3": uniform(7000, 9000),
            "standard_kg_m3": uniform(7950, 8050),
        },
    )

    _, row = table_of(problem)

    assert agrees(row, "estimate", 1.234)
    assert agrees(row, "standard_uncertainty", 0.0754797)
    assert float(row["low"]) == pytest.approx(1.0844, abs=5e-4)
    assert float(row["high"]) == pytest.approx(1.3835, abs=5e-4)


def loss(x1, x2):
    return x1**2 + x2**2


@pytest.mark.parametrize(
    ("x1", "correlation", "mean", "u", "symmetric", "narrow"),
    [
        (0.000, 0.0, 50, 50, (1.27, 184.4), (0, 149.8)),
        (0.010, 0.0, 150, 111.80, (8.55, 427.1), (0, 366.0)),
        (0.050, 0.0, 2550, 502.49, (1638.5, 3603.4), (1593.6, 3548.6)),
        (0.000, 0.9, 50, 67.27, (0.6, 241), (0, 185.0)),
        (0.010, 0.9, 150, 120.52, (29.1, 478), (12.6, 397.5)),
        (0.050, 0.9, 2550, 504.50, (1697, 3660), (1624.8, 3554.6)),
    ],
)
def test_the_comparison_loss_of_jcgm_101(x1, correlation, mean, u, symmetric, narrow):
    """JCGM 101:2008, 9.4, in millionths; mean x1^2 + 2 u^2, variance 4 x1^2 u^2 + 4 u^4 (1 + r^2).

    Ends computed to their last printed digit.
    """
    matrix = ((1, correlation), (correlation, 1))
    problem = Problem.of(
        [loss],
        {"x1": normal(x1, 0.005), "x2": normal(0, 0.005)},
        correlations=(Correlation("knowledge", ("x1", "x2"), matrix),),
    )

    values, row = table_of(problem)
    ends, errors = shortest(values)

    assert agrees(row, "estimate", mean * 1e-6)
    assert within(
        float(row["standard_uncertainty"]),
        u * 1e-6,
        float(row["standard_uncertainty_error"]) + 1e-8,
    )
    for figure, exact in zip(("low", "high"), symmetric, strict=True):
        assert float(row[figure]) == pytest.approx(
            exact * 1e-6, abs=4 * float(row[f"{figure}_error"]) / 2.36 + 5e-7
        )
    for found, exact, error in zip(ends, narrow, errors, strict=True):
        assert found == pytest.approx(exact * 1e-6, abs=4 * error + 2e-7)


def log_of(x):
    return np.log(x)


def test_the_logarithm_of_a_wide_rectangular_quantity():
    """Cox & Harris, NPL report MS 6 (software support for metrology): Y = ln X, X ~ R(0.1, 1.1).

    Closed form: mean -0.664900, u 0.606227, symmetric [-2.079442, 0.072321], shortest
    [-1.897120, 0.095310].
    """
    values, row = table_of(Problem.of([log_of], {"x": uniform(0.1, 1.1)}))
    ends, errors = shortest(values)

    mean = 1.1 * np.log(1.1) - 0.1 * np.log(0.1) - 1
    assert float(row["estimate"]) == pytest.approx(mean, abs=1e-6)
    assert float(row["standard_uncertainty"]) == pytest.approx(0.606227, abs=1e-6)
    assert agrees(row, "low", -2.079442)
    assert agrees(row, "high", 0.072321)
    assert within(ends[0], -1.897120, errors[0])
    assert ends[1] == pytest.approx(0.095310, abs=1e-3)


def resistance(voltage_v, current_ma, phase):
    return voltage_v / (current_ma * 1e-3) * np.cos(phase)


def reactance(voltage_v, current_ma, phase):
    return voltage_v / (current_ma * 1e-3) * np.sin(phase)


def impedance(voltage_v, current_ma):
    return voltage_v / (current_ma * 1e-3)


def test_the_correlated_impedance_of_the_gum():
    """GUM (JCGM 100:2008), H.2: R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) ohm.

    Correlations r(R, X) -0.59, r(R, Z) -0.49, r(X, Z) +0.99; the printed inputs are rounded, which
    moves u(R) by 0.001.
    """
    matrix = ((1, -0.36, 0.86), (-0.36, 1, -0.65), (0.86, -0.65, 1))
    problem = Problem.of(
        [resistance, reactance, impedance],
        {
            "voltage_v": normal(4.999, 0.0032),
            "current_ma": normal(19.661, 0.0095),
            "phase": normal(1.04446, 0.00075),
        },
        correlations=(Correlation("knowledge", ("voltage_v", "current_ma", "phase"), matrix),),
    )

    draws = simulate(problem, DRAWS)
    table = summarise(draws)

    printed = {"resistance": (127.732, 0.071), "reactance": (219.847, 0.295)}
    for name, (value, u) in {**printed, "impedance": (254.260, 0.236)}.items():
        assert float(table["estimate"].sel(outcome=name)) == pytest.approx(value, abs=6e-4)
        assert float(table["standard_uncertainty"].sel(outcome=name)) == pytest.approx(
            u, abs=1.1e-3
        )
    names = ["resistance", "reactance", "impedance"]
    found = np.corrcoef([draws[n] for n in names])[np.triu_indices(3, 1)]
    np.testing.assert_allclose(found, [-0.59, -0.49, 0.99], atol=0.006)


def correction_at_30(intercept, slope):
    return intercept + slope * (30 - 20)


def test_the_thermometer_correction_of_the_gum():
    """GUM (JCGM 100:2008), H.3: b(30 degC) = -0.1494 degC, u = 0.0041 degC."""
    matrix = ((1, -0.93043), (-0.93043, 1))
    problem = Problem.of(
        [correction_at_30],
        {"intercept": normal(-0.171204, 0.0028776), "slope": normal(0.0021827, 0.00066794)},
        correlations=(Correlation("knowledge", ("intercept", "slope"), matrix),),
    )

    _, row = table_of(problem)

    assert float(row["estimate"]) == pytest.approx(-0.149377, abs=2e-6)
    assert agrees(row, "standard_uncertainty", 0.0041386)


def expansion(length_0, temperature_0, length_1, temperature_1):
    return (length_1 - length_0) / (length_0 * (temperature_1 - temperature_0))


def test_the_thermal_expansion_of_nist_tn_1900():
    """Possolo, NIST TN 1900 (2015), E13: 1.7268e-5, u 1.74e-6 (t with 3 degrees, sd as stated)."""

    def t3(value, sd):
        return student_t(value, sd / ROOT3, 3)

    problem = Problem.of(
        [expansion],
        {
            "length_0": t3(1.4999, 1e-4),
            "temperature_0": t3(288.15, 0.02),
            "length_1": t3(1.5021, 2e-4),
            "temperature_1": t3(373.10, 0.05),
        },
    )

    _, row = table_of(problem)

    assert float(row["estimate"]) == pytest.approx(1.72665e-5, abs=4e-9)
    assert float(row["standard_uncertainty"]) == pytest.approx(1.748e-6, rel=0.02)


def magnitude(x, y):
    return np.hypot(x, y)


def phase(x, y):
    return np.arctan2(y, x)


@pytest.mark.parametrize(
    ("x1", "correlation", "size", "size_u", "angle", "angle_u", "together"),
    [
        (0.001, 0.0, 0.012563, 0.006566, 0.0, 1.7442, 0.0),
        (0.010, 0.0, 0.015484, 0.007756, 0.0, 1.1177, 0.0),
        (0.100, 0.0, 0.100502, 0.009978, 0.0, 0.10050, 0.0),
        (0.001, 0.9, 0.011733, 0.007959, -0.5564, 1.5987, -0.070),
        (0.010, 0.9, 0.015289, 0.008139, -0.3432, 0.9032, 0.352),
        (0.100, 0.9, 0.100506, 0.009894, -0.0090, 0.1024, 0.882),
    ],
)
def test_the_polar_form_of_jcgm_102(x1, correlation, size, size_u, angle, angle_u, together):
    """JCGM 102:2011, 9.2, tables 6 and 7 (0.013, 0.007; 0.000, 1.744; ...), in more digits."""
    matrix = ((1, correlation), (correlation, 1))
    problem = Problem.of(
        [magnitude, phase],
        {"x": normal(x1, 0.010), "y": normal(0, 0.010)},
        correlations=(Correlation("knowledge", ("x", "y"), matrix),),
    )

    draws = simulate(problem, DRAWS)
    table = summarise(draws)

    found = {name: table.sel(outcome=name) for name in ("magnitude", "phase")}
    assert float(found["magnitude"]["estimate"]) == pytest.approx(size, abs=2e-5)
    assert float(found["magnitude"]["standard_uncertainty"]) == pytest.approx(size_u, abs=2e-5)
    assert float(found["phase"]["estimate"]) == pytest.approx(angle, abs=5e-3)
    assert float(found["phase"]["standard_uncertainty"]) == pytest.approx(angle_u, abs=3e-3)
    both = np.corrcoef(draws["magnitude"], draws["phase"])[0, 1]
    assert both == pytest.approx(together, abs=6e-3)
