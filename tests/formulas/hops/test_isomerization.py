"""Rates of isomerization and the heat of a hop's path, against the source and exact integrals."""

import numpy as np
import pytest

from brewsim.formulas.hops import hop_stand, isomerization, kettle_hops

GAS_CONSTANT = 8.314462618e-3
BOILING = 373.15
RATE = np.array([7.9e11 * np.exp(-11858 / BOILING)])
LOSS = np.array([4.1e12 * np.exp(-12994 / BOILING)])
ENERGY = np.array([11858 * GAS_CONSTANT])


def _rates(celsius):
    temperature = np.atleast_1d(np.asarray(celsius, float))
    gain = isomerization.boil_isomerization_per_min(temperature, RATE, ENERGY)
    return gain, isomerization.boil_iso_loss_per_min(temperature, LOSS)


def _at_constant_temperature(celsius, minutes):
    gain, loss = _rates(celsius)
    none, none_per_hop = np.zeros(1), np.zeros((1, 1))
    time = np.array([np.atleast_1d(np.asarray(minutes, float))])
    off, stand, chill = (none, none), (none_per_hop, none_per_hop), (none, none)
    return kettle_hops.hop_isomerized_fraction(
        time, none_per_hop, gain, loss, *off, *stand, *chill
    )[0]


@pytest.mark.parametrize(("which", "printed"), [(0, 98.6), (1, 108.0)])
def test_rates_have_the_printed_activation_energy(which, printed):
    """Malowicki & Shellhammer (2005), abstract: 98.6 and 108.0 kJ/mol, 90 to 130 °C."""
    cold, hot = _rates([90.0, 130.0])[which]

    energy = GAS_CONSTANT * np.log(hot / cold) / (1 / 363.15 - 1 / 403.15)

    assert energy == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(
    ("celsius", "gain", "loss"),
    [
        (60, "2.751e-4", "4.718e-5"),
        (70, "7.763e-4", "1.470e-4"),
        (80, "2.065e-3", "4.296e-4"),
        (90, "5.206e-3", "1.183e-3"),
        (95, "8.112e-3", "1.924e-3"),
        (98, "1.052e-2", "2.559e-3"),
        (100, "1.249e-2", "3.087e-3"),
        (110, "2.863e-2", "7.661e-3"),
        (130, "1.329e-1", "4.121e-2"),
    ],
)
def test_rates_reproduce_the_fitted_lines(celsius, gain, loss):
    """Malowicki & Shellhammer (2005): k1 = 7.9e11 exp(-11858/T), k2 = 4.1e12 exp(-12994/T)."""
    got = [f"{rate[0]:.3e}" for rate in _rates(celsius)]

    assert [float(text) for text in got] == [float(gain), float(loss)]


@pytest.mark.parametrize(
    ("celsius", "fractions"),
    [
        (70, [0.0039, 0.0077, 0.0116, 0.0154, 0.0230, 0.0342, 0.0453, 0.0670]),
        (80, [0.0103, 0.0204, 0.0304, 0.0403, 0.0597, 0.0879, 0.1150, 0.1663]),
        (90, [0.0256, 0.0504, 0.0745, 0.0977, 0.1420, 0.2032, 0.2585, 0.3534]),
        (95, [0.0396, 0.0772, 0.1129, 0.1468, 0.2097, 0.2922, 0.3623, 0.4708]),
        (100, [0.0601, 0.1156, 0.1668, 0.2141, 0.2976, 0.3988, 0.4759, 0.5745]),
    ],
)
def test_isomerized_share_follows_the_two_step_law(celsius, fractions):
    """Computed from the rates of Malowicki & Shellhammer (2005), 5 to 90 minutes."""
    got = _at_constant_temperature(celsius, [5, 10, 15, 20, 30, 45, 60, 90])

    np.testing.assert_allclose(got, fractions, atol=5e-5, rtol=0)


@pytest.mark.parametrize(("minutes", "ratio"), [(26.9, 2.0), (19.0, 1.5)])
def test_boil_times_have_the_stated_ratio_to_twelve_minutes(minutes, ratio):
    """J.-P. Hosom, web log on the science of brewing, post 13, 5.1.2."""
    long, short = _at_constant_temperature(100, [minutes, 12.0])

    assert long / short == pytest.approx(ratio, abs=0.05)


def test_nineteen_minutes_at_62_8_degrees_are_3_4_percent_of_boiling():
    """J.-P. Hosom, web log on the science of brewing, post 13, 5.1.2."""
    warm = _at_constant_temperature(62.8, 19.0)
    boiling = _at_constant_temperature(100.0, 19.0)

    assert 100 * (warm / boiling)[0] == pytest.approx(3.4, abs=0.05)


@pytest.mark.parametrize(("litres", "b", "shares"), [
    (5, 0.0002925 * 400 / 5 + 0.00538, [0.0692, 0.0912, 0.1003, 0.1096]),
    (20, 0.0002925 * 1100 / 20 + 0.00538, [0.0778, 0.1088, 0.1235, 0.1394]),
    (60, 0.0002925 * 1900 / 60 + 0.00538, [0.0876, 0.1314, 0.1556, 0.1859]),
])  # fmt: skip
def test_a_kettle_that_cools_by_itself_isomerizes_the_worked_shares(litres, b, shares):
    """Computed from T = 53.70 e^(-bt) + 319.55 (J.-P. Hosom, post 16), 10 to 60 min.

    Tolerance 3e-4: the worked values go on below 50 °C and step the two states through time.
    """
    got = [_stand(minutes, b, 53.70 + 319.55 - 273.15) for minutes in (10, 20, 30, 60)]

    assert got == pytest.approx(shares, abs=3e-4), litres


def _stand(minutes, b, start):
    one, hop = (lambda x: np.array([float(x)])), np.zeros((1, 1))
    path = (hop, one(start), one(minutes), one(b))
    gain = isomerization.hop_stand_isomerization_exposure(*path, RATE, ENERGY)
    loss = isomerization.hop_stand_iso_loss_exposure(*path, LOSS)
    none = np.zeros(1)
    share = kettle_hops.hop_isomerized_fraction(
        hop, hop, *_rates(100.0), none, none, gain, loss, none, none
    )
    return float(share[0, 0])


def _numeric(temperature, minutes):
    clock = (np.arange(200_000) + 0.5) * minutes / 200_000
    celsius = temperature(clock)
    rate = RATE[0] * np.exp(-11858 * (1 / (celsius + 273.15) - 1 / BOILING))
    return minutes * np.mean(np.where(celsius > 50.0, rate, 0.0))


@pytest.mark.parametrize(("start", "end"), [(100, 100), (100, 97), (100, 78), (100, 60), (95, 20)])
def test_straight_cooling_is_integrated_to_four_parts_in_a_thousand(start, end):
    got = isomerization.heat_off_isomerization_exposure(
        *(np.array([float(x)]) for x in (start, end, 7.0)), RATE, ENERGY
    )

    assert got[0] == pytest.approx(
        _numeric(lambda t: start + (end - start) * t / 7.0, 7.0), rel=4e-3
    )


@pytest.mark.parametrize("start", [100.0, 85.0, 62.0])
def test_chiller_is_integrated_down_to_fifty_degrees(start):
    got = isomerization.chill_isomerization_exposure(
        np.array([start]), np.array([20.0]), RATE, ENERGY
    )
    b = np.log(80 / 5) / 20

    assert got[0] == pytest.approx(
        _numeric(lambda t: 20 + (start - 20) * np.exp(-b * t), 60.0), rel=2e-4
    )


def test_a_late_hop_sees_only_its_part_of_the_stand():
    one = lambda x: np.array([float(x)])  # noqa: E731 - short on purpose
    whirlpool = np.ones((2, 1))
    start = hop_stand.hop_stand_start_min(whirlpool, np.array([[1.0], [0.25]]), one(40.0))
    met = hop_stand.hop_stand_start_temperature_c(start, one(90.0), one(0.02))
    tau = isomerization.hop_stand_isomerization_exposure(
        start, met, one(40.0), one(0.02), RATE, ENERGY
    )
    last = _numeric(lambda t: 46.4 + 43.6 * np.exp(-0.02 * (t + 30.0)), 10.0)

    np.testing.assert_array_equal(start[:, 0], [0.0, 30.0])
    assert tau[1, 0] == pytest.approx(last, rel=1e-6)
    assert tau[0, 0] > 4 * tau[1, 0]


def test_no_stand_means_no_jitter_of_it():
    error = np.array([-3.0, 0.0, 3.0])

    assert not hop_stand.stand_actual_min(np.zeros(1), error).any()
    np.testing.assert_array_equal(
        hop_stand.stand_actual_min(np.array([2.0]), error), [0.0, 2.0, 5.0]
    )


def test_a_stand_is_never_hotter_than_the_boil():
    hottest = hop_stand.stand_temperature_c(np.array([99.0]), np.array([2.0]), np.array([98.0]))

    assert hottest == 98.0
