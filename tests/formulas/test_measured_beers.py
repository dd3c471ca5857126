"""Measured beers against the whole chain: a regression guard, set on few lots of one author.

Only the utilizations of larger kettles are evidence from outside (Justus 2018, Jacobsen 1989).
"""

import math
from typing import NamedTuple

import numpy as np
import pytest
from scipy.special import ndtri

pytestmark = pytest.mark.slow

ROWS = 8192


class Beer(NamedTuple):
    """One measured beer: hops g, label and assayed alpha %, wort L, gravities, min, °C, weeks."""

    name: str
    hops: float
    label: float
    alpha: float
    volume: float
    average: float
    original: float
    minutes: float
    celsius: float
    weeks: float
    measured: float


def _series(name, label, alpha, weeks, rows):
    return [Beer(name + r[0], r[1], label, alpha, *r[2:7], weeks, r[7]) for r in rows]


SERIES = {
    "W1": _series("W1", 8.0, 6.25, 11, [
        ("A", 17.0, 5.64, 1.0510, 1.0599, 60, 100, 35.7),
        ("B", 17.0, 5.83, 1.0506, 1.0589, 40, 100, 34.3),
        ("C", 17.0, 5.45, 1.0528, 1.0634, 20, 100, 27.1),
        ("D", 17.0, 5.38, 1.0532, 1.0642, 10, 100, 22.0),
    ]),
    "W3": _series("W3", 8.1, 7.7, 7, [
        ("A", 10.49, 6.21, 1.0528, 1.0545, 12, 100, 12.0),
        ("B", 20.98, 6.13, 1.0530, 1.0550, 12, 100, 23.0),
        ("C", 31.47, 6.13, 1.0530, 1.0550, 12, 100, 29.0),
        ("D", 41.96, 6.25, 1.0525, 1.0540, 12, 100, 34.0),
        ("E", 52.45, 6.09, 1.0533, 1.0555, 12, 100, 41.0),
        ("F", 62.94, 6.09, 1.0533, 1.0555, 12, 100, 47.0),
    ]),
    "W4 first lot": _series("W4", 8.4, 5.75, 6, [
        ("A", 45.36, 4.47, 1.0630, 1.0658, 10, 100, 33.3),
        ("B", 45.36, 4.54, 1.0630, 1.0645, 10, 92.7, 28.9),
        ("C", 45.36, 4.66, 1.0630, 1.0645, 10, 88.4, 30.8),
        ("D", 45.36, 4.69, 1.0630, 1.0641, 10, 85.2, 25.5),
    ]),
    "W4 second lot": _series("W4", 7.9, 6.25, 6, [
        ("F", 45.36, 4.66, 1.0630, 1.0645, 10, 100, 40.6),
        ("G", 45.36, 4.77, 1.0630, 1.0628, 10, 80.2, 23.6),
        ("H", 45.36, 4.77, 1.0630, 1.0628, 10, 74.6, 24.5),
        ("I", 45.36, 4.81, 1.0630, 1.0624, 10, 68.7, 23.1),
        ("J", 45.36, 4.81, 1.0630, 1.0624, 10, 63.1, 21.8),
    ]),
}  # fmt: skip
FAULTS = {
    "none": {},
    "no solubility cap": {"solubility_knee_mg_l": 1e6, "solubility_ceiling_mg_l": 1e7},
    "wort pH 5.3": {"boiled_wort_ph": 5.3},
}


def _draws(hot_side, beer, fault):
    """Return IBU draws: pH 5.75, assayed alpha (5 %), what the label had more is lost alpha.

    W1 and W3 are chilled in four minutes; W4 was held at one temperature.
    """
    rng = np.random.default_rng(20)
    alpha = beer.alpha / 100 * np.exp(0.05 * ndtri((rng.permutation(ROWS) + 0.5) / ROWS))
    hop = {
        "hop_mass_g": beer.hops,
        "hop_boil_time_min": beer.minutes,
        "hop_lot_alpha_acid_fraction": alpha,
        "hop_lot_alpha_lost_share": np.full(ROWS, beer.label / beer.alpha - 1),
    }
    settings = {
        "boil_temperature_c": beer.celsius,
        "stand_set_temperature_c": beer.celsius,
        "boil_time_min": beer.minutes,
        "heat_off_time_min": 0.0,
        "chill_time_min": 1e-6 if beer.name.startswith("W4") else 4.0,
        "whole_wort_l": beer.volume,
        "fermenter_volume_l": beer.volume,
        "preboil_gravity_sg": 2 * beer.average - beer.original,
        "original_gravity_sg": beer.original,
        "storage_week": beer.weeks,
    }
    values = hot_side.run([hop], rng, ROWS, **(settings | FAULTS.get(fault, {})))
    ibu = values["bitterness_ibu"]
    noise = values["bitterness_batch_factor"]
    if fault == "IBU taken as mg/L of iso-alpha acids":
        return ibu + (1 - 51.2 / 69.68) * values["iso_alpha_in_beer_mg_l"] * noise
    if fault == "oxidised term doubled":
        return ibu + values["oxidized_alpha_ibu"] * noise
    return ibu


def _tell(*parts):
    print(*parts)  # noqa: T201 - the table is what a failing run is read for


class Verdict(NamedTuple):
    """The four numbers of the rule (the widths as least and greatest)."""

    inside_90: float
    outside_999: int
    least_width: float
    greatest_width: float
    bias: float
    scatter: float

    @property
    def kept(self):
        widths = self.least_width >= 1.3 and self.greatest_width <= 1.75
        centre = abs(self.bias) <= 0.10 and self.scatter <= 0.075
        return self.inside_90 >= 0.8 and self.outside_999 == 0 and widths and centre


def _judge(hot_side, fault="none"):
    inside, outside, widths, ratios = [], [], [], {}
    _tell(f"\n{fault}: name, measured, 0.05 / 5 / 50 / 95 / 99.95 %, ln(measured/median)")
    for series, beers in SERIES.items():
        for beer in beers:
            draws = _draws(hot_side, beer, fault)
            q = np.quantile(draws, [0.0005, 0.05, 0.5, 0.95, 0.9995])
            ratios.setdefault(series, []).append(math.log(beer.measured / q[2]))
            inside.append(q[1] <= beer.measured <= q[3])
            outside.append(not q[0] <= beer.measured <= q[4])
            widths += [float(q[2] / q[1]), float(q[3] / q[2])]
            _tell(beer.name, beer.measured, np.round(q, 1), round(ratios[series][-1], 3))
    squares = sum(np.square(np.array(r) - np.mean(r)).sum() for r in ratios.values())
    freedom = sum(len(r) - 1 for r in ratios.values())
    bias = float(np.mean([np.mean(r) for r in ratios.values()]))
    verdict = Verdict(
        float(np.mean(inside)),
        sum(outside),
        min(widths),
        max(widths),
        bias,
        float(np.sqrt(squares / freedom)),
    )
    _tell(verdict)
    return verdict


def test_measured_beers_keep_all_four_parts_of_the_rule(hot_side):
    """Source: J.-P. Hosom, web log on the science of brewing, posts 10, 12, 13 (19 beers).

    At least 80 % inside the 90 % interval and none outside the 99.9 % one; 90 % limits 1.3 to 1.75
    times the median either way; mean over the four lots of ln(measured/median) within 0.10; pooled
    standard deviation inside lots at most 0.075. A regression guard.
    """
    verdict = _judge(hot_side)

    assert verdict.kept, verdict


@pytest.mark.parametrize(
    "fault",
    [
        "IBU taken as mg/L of iso-alpha acids",
        "no solubility cap",
        "wort pH 5.3",
        "oxidised term doubled",
    ],
)
def test_a_planted_fault_breaks_the_rule(hot_side, fault):
    """The rule must be able to fail: each of these gets past coverage of the intervals alone."""
    verdict = _judge(hot_side, fault)

    assert not verdict.kept, verdict


def _large_kettle(hot_side, hop):
    """Return draws of the hot side for pellets in a kettle of 500 L or more.

    Every addition stays in the whirlpool for 25 ± 5 min at 97 °C, as the whole wort does.
    """
    rng = np.random.default_rng(4)
    slots = (rng.permutation(ROWS) + 0.5) / ROWS
    pellets = {"hop_mass_g": 10.0, "hop_is_pellet_share": 1.0, **hop}
    return hot_side.run(
        [pellets],
        rng,
        ROWS,
        boil_retention_fraction=hot_side.quantile("boil_retention_large_fraction", slots),
        boiled_wort_ph=5.35 + 0.12 * ndtri(rng.permutation(slots)),
        stand_time_min=25.0,
        stand_time_error_min=5.0 * ndtri(rng.permutation(slots)),
        stand_set_temperature_c=97.0,
    )


def _wort_utilization(hot_side, hop):
    """Return draws of wort IBU per mg/L of alpha acids in such a kettle."""
    values = _large_kettle(hot_side, hop)
    iso = 51.2 / 69.68 * values["iso_alpha_in_wort_mg_l"]
    bitter = iso + 0.673 * values["oxidized_alpha_in_wort_mg_l"]
    return bitter / values["kettle_alpha_mg_l"]


def test_brewery_scale_utilization_agrees_with_a_brewhouse_outside_the_fit(hot_side):
    """Source: Justus (2018), MBAA Tech. Quart. 55(3), 67: 44.0 % at 60 min, 29.9 % in whirlpool.

    0.44 inside the middle half; the ratio 0.68 inside the 99 % interval (25 ± 5 min at 97 °C
    assumed for the whirlpool).
    """
    boil = _wort_utilization(hot_side, {})
    whirlpool = _wort_utilization(hot_side, {"hop_in_whirlpool_share": 1.0})
    low, high = np.quantile(boil, [0.25, 0.75])
    ratio_low, ratio_high = np.quantile(whirlpool / boil, [0.005, 0.995])
    _tell(low, np.median(boil), high, ratio_low, np.median(whirlpool / boil), ratio_high)

    assert low < 0.44 < high
    assert ratio_low < 0.68 < ratio_high


def test_unknown_large_kettles_are_no_wider_apart_than_six_breweries_were(hot_side):
    """Source: T. Jacobsen et al. (1989), J. Am. Soc. Brew. Chem. 47, 62, abstract.

    Iso-alpha acids in the wort over alpha acids dosed: 0.30 to 0.75 over six breweries, by their
    equipment and in part by the hop product.
    """
    values = _large_kettle(hot_side, {})
    share = values["iso_alpha_in_wort_mg_l"] / values["kettle_alpha_mg_l"]
    low, high = np.quantile(share, [0.05, 0.95])
    _tell(low, high)

    assert 0.30 < low < high < 0.75
    assert high / low > 1.5  # the range of six is 2.5


@pytest.mark.parametrize(
    ("grams", "boiled", "published"),
    [(56.7, True, 44.6), (56.7, False, 14.65), (170.1, True, 90.9), (170.1, False, 27.8)],
)
def test_published_two_component_answers_are_met_within_six_percent(
    hot_side, grams, boiled, published
):
    """Source: J.-P. Hosom, web log on the science of brewing, post 11, section 5.

    1.055, 19.87 L, cones of 8.8 %, ten minutes of natural cooling (1100 cm² open), one week old;
    with the author's own 0.51 for retention and 200 and 580 mg/L for the cap.
    """
    hop = {
        "hop_mass_g": grams,
        "hop_lot_alpha_acid_fraction": 0.088,
        "hop_boil_time_min": 60.0 if boiled else 0.0,
    }
    values = hot_side.run(
        [hop],
        whole_wort_l=19.87,
        fermenter_volume_l=19.87,
        preboil_gravity_sg=1.055,
        original_gravity_sg=1.055,
        heat_off_time_min=0.0,
        stand_time_min=10.0,
        stand_cooling_per_min=0.0216,
        chill_time_min=1e-6,
        storage_week=1.0,
        boil_retention_fraction=0.51,
        solubility_knee_mg_l=200.0,
        solubility_ceiling_mg_l=580.0,
    )

    assert values["bitterness_ibu"][0] == pytest.approx(published, rel=0.06)
