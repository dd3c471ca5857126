"""The formulas brewers usually use, against the cells their sources print."""

import numpy as np
import pytest

from brewsim.formulas.hops import bitterness
from brewsim.formulas.hops import reference_bitterness as usual_bitterness

GRAVITIES = np.array([1.030, 1.040, 1.050, 1.060, 1.070, 1.080, 1.090, 1.100, 1.110, 1.120, 1.130])
GRID = {
    0: ".000 .000 .000 .000 .000 .000 .000 .000 .000 .000 .000",
    3: ".034 .031 .029 .026 .024 .022 .020 .018 .017 .015 .014",
    6: ".065 .059 .054 .049 .045 .041 .038 .035 .032 .029 .026",
    9: ".092 .084 .077 .070 .064 .059 .054 .049 .045 .041 .037",
    15: ".137 .125 .114 .105 .096 .087 .080 .073 .067 .061 .056",
    30: ".212 .194 .177 .162 .148 .135 .124 .113 .103 .094 .086",
    45: ".253 .232 .212 .194 .177 .162 .148 .135 .123 .113 .103",
    60: ".276 .252 .231 .211 .193 .176 .161 .147 .135 .123 .112",
    90: ".295 .270 .247 .226 .206 .188 .172 .157 .144 .132 .120",
    120: ".301 .275 .252 .230 .210 .192 .176 .161 .147 .134 .123",
}


def _tinseth(minutes, gravity):
    factor = bitterness.gravity_bitterness_factor(gravity, gravity, np.zeros(1))
    return usual_bitterness.tinseth_ibu(np.ones((1, 1)), np.array([[float(minutes)]]), factor)


@pytest.mark.parametrize("minutes", GRID)
def test_tinseth_utilization_reproduces_his_table(minutes):
    """Source: Tinseth (1997), Glenn's Hop Utilization Numbers, rows of the table (computed)."""
    printed = np.array(GRID[minutes].split(), dtype=float)

    np.testing.assert_allclose(_tinseth(minutes, GRAVITIES), printed, atol=5e-4, rtol=0)


@pytest.mark.parametrize(
    ("minutes", "gravity", "printed"),
    [(30, 1.05, 0.177), (30, 1.06, 0.162), (60, 1.05, 0.231), (60, 1.08, 0.176), (15, 1.08, 0.087)],
)
def test_tinseth_utilization_reproduces_printed_cells(minutes, gravity, printed):
    """Source: reprints of Tinseth's table in Palmer, How to Brew."""
    assert _tinseth(minutes, np.array([gravity]))[0] == pytest.approx(printed, abs=5e-4)


@pytest.mark.parametrize(
    ("minutes", "percent"),
    [
        (0, 5.12),
        (8, 6.25),
        (13, 7.54),
        (18, 9.48),
        (23, 12.20),
        (28, 15.62),
        (33, 19.38),
        (38, 22.96),
        (43, 25.93),
        (48, 28.12),
        (55, 30.04),
        (60, 30.82),
        (90, 31.93),
    ],
)
def test_rager_utilization_reproduces_the_smooth_form(minutes, percent):
    """Source: Rager (1990), Zymurgy 13(4), 53; smooth form with 31.32 (computed)."""
    alpha, weak = np.full((1, 1), 100.0), np.array([1.05])

    ibu = usual_bitterness.rager_ibu(alpha, np.array([[float(minutes)]]), weak, weak)

    assert ibu[0] == pytest.approx(percent, abs=0.005)


def test_rager_divides_by_the_gravity_above_1_050():
    alpha, time = np.full((1, 1), 100.0), np.array([[60.0]])
    strong = usual_bitterness.rager_ibu(alpha, time, np.array([1.07]), np.array([1.09]))
    weak = usual_bitterness.rager_ibu(alpha, time, np.array([1.03]), np.array([1.04]))

    assert weak[0] / strong[0] == pytest.approx(1.15)


@pytest.mark.parametrize(
    ("minutes", "percent"),
    [(9, 0.0), (10, 0.55), (15, 3.22), (20, 6.17), (30, 12.10), (45, 18.64), (60, 22.31)],
)
def test_garetz_stand_in_gives_its_values_at_low_rate(minutes, percent):
    """Source: from memory, the smooth stand-in for the table of Garetz (1994)."""
    alpha, weak = np.full((1, 1), 0.001), np.array([1.05])

    ibu = usual_bitterness.garetz_ibu(alpha, np.array([[float(minutes)]]), weak, weak)

    assert 1e5 * ibu[0] == pytest.approx(percent, abs=0.005)


def test_garetz_hopping_rate_solves_its_own_equation():
    """Source: Garetz (1994), p. 137: divided by 1 + IBU/260."""
    alpha, weak, time = np.full((1, 1), 300.0), np.array([1.05]), np.array([[60.0]])
    ibu = usual_bitterness.garetz_ibu(alpha, time, weak, weak)
    small = usual_bitterness.garetz_ibu(alpha * 1e-6, time, weak, weak) * 1e6

    assert ibu[0] * (1 + ibu[0] / 260) == pytest.approx(small[0], rel=1e-5)


def test_stand_counts_as_boil_minutes_of_the_measured_curve():
    """Source: J.-P. Hosom, web log on the science of brewing, post 10: 0.15642 e^(0.01856 T)."""
    zero, minutes = np.zeros((1, 1)), np.array([15.0])
    held = usual_bitterness.hop_stand_equivalent_min(zero, np.array([80.0]), minutes, np.zeros(1))
    cooling = np.array([0.03])
    drifting = usual_bitterness.hop_stand_equivalent_min(zero, np.array([90.0]), minutes, cooling)
    clock = (np.arange(100_000) + 0.5) * 15.0 / 100_000
    celsius = 46.4 + 43.6 * np.exp(-0.03 * clock)

    assert held[0, 0] == pytest.approx(15 * 0.15642 * np.exp(0.01856 * 80), rel=1e-12)
    assert drifting[0, 0] == pytest.approx(
        15 * np.mean(0.15642 * np.exp(0.01856 * celsius)), rel=1e-8
    )


def test_empirical_bitterness_is_tinseth_plus_malt_when_nothing_stands(usual_hot_side):
    values = usual_hot_side.run([{"hop_mass_g": 30.0}])

    assert values["bitterness_ibu"][0] == pytest.approx(
        values["tinseth_ibu"][0] + values["malt_ibu"][0]
    )


def test_empirical_spread_grows_towards_short_boils(usual_hot_side):
    """Source: disagreement of four formulas: 0.17, 0.28 and 0.67 at 60, 30 and 15 minutes."""

    def spread(minutes):
        hop = [{"hop_mass_g": 30.0, "hop_boil_time_min": minutes}]
        low, high = (
            usual_hot_side.run(hop, usual_formula_error_unit=z, malt_ibu_per_point=0.0)
            for z in (0.0, 1.0)
        )
        return np.log(high["bitterness_ibu"] / low["bitterness_ibu"])[0]

    assert [spread(60.0), spread(30.0), spread(15.0), spread(5.0), spread(90.0)] == pytest.approx(
        [0.17, 0.28, 0.67, 0.67, 0.17]
    )


@pytest.mark.parametrize(
    ("formula", "gravities"),
    [
        (usual_bitterness.tinseth_ibu, 1),
        (usual_bitterness.rager_ibu, 2),
        (usual_bitterness.garetz_ibu, 2),
    ],
)
def test_every_batch_sums_its_own_additions(formula, gravities):
    alpha = np.array([[60.0, 120.0, 90.0], [30.0, 10.0, 0.0]])
    time = np.array([[60.0, 45.0, 75.0], [15.0, 30.0, 20.0]])
    gravity = np.array([1.06, 1.07, 1.08])

    together = formula(alpha, time, *[gravity] * gravities)

    for batch in range(3):
        one = slice(batch, batch + 1)
        alone = formula(alpha[:, one], time[:, one], *[gravity[one]] * gravities)
        assert together[one] == pytest.approx(alone, rel=1e-12)
    assert len(set(together.round(6))) == 3
