"""How often published brews lie inside the intervals that were promised for them."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from statistics import NormalDist
from typing import Any

import numpy as np

from brewsim.answers.published_brews import (
    FITTED,
    JUDGED,
    Measurement,
    Series,
    brews_file,
    read_series,
)
from brewsim.beer.pose import posed
from brewsim.dims import FloatArray
from brewsim.priors.library import Priors
from brewsim.recipe.read import parse_recipe
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.variance_by_kind import spread_by_kind

INTERVALS = (0.5, 0.9, 0.99)
OWN_KETTLE = "51 ± 5 %"
"""Boil retention of the bitterness series' kettle, as its brewer fitted it to earlier beers."""
_BITTERNESS = "bitterness_ibu"
_EVERY = 9
"""Each such beer of the bitterness series stands for the ones after it in `one_kettle`."""
_Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Judged:
    """A measured figure among the draws of its own recipe, reading error included.

    `rank` is the share of draws below the figure; `low`, `middle` and `high` are the 90 %
    interval and the median, in the unit of the outcome.
    """

    measurement: Measurement
    rank: float
    low: float
    middle: float
    high: float

    def inside(self, coverage: float) -> bool:
        """Whether the figure lies inside the central interval of that coverage."""
        return abs(self.rank - 0.5) <= coverage / 2


@dataclass(frozen=True)
class Coverage:
    """One outcome in one half: how many figures lie inside, and how the middles lie.

    `width` is the median width of the 90 % intervals, `bias` the mean of measured less middle,
    `scatter` the standard deviation of it, all in the unit of the outcome; `score_mean` and
    `score_sd` are mean and standard deviation of the normal scores of the ranks (0 and 1 where
    the promise is kept exactly). A figure of one brew has no scatter: nan.
    """

    quantity: str
    half: str
    n: int
    inside: tuple[int, ...]
    width: float
    bias: float
    scatter: float
    score_mean: float
    score_sd: float


def judge(
    priors: Priors, draws: int = 4096, seed: int = 1, progress: _Progress | None = None
) -> tuple[list[Series], list[Judged]]:
    """Pose every published brew, draw, and return where each measured figure lies."""
    series = read_series(priors)
    asked = [m for one in series for m in one.measurements]
    found = []
    for number, measurement in enumerate(asked):
        found.append(_judged(measurement, priors, draws, seed + number))
        if progress is not None:
            progress((number + 1) / len(asked), measurement.series)
    return series, found


def own_kettle(priors: Priors, draws: int = 4096, seed: int = 1) -> Coverage:
    """Return the judged half's coverage of bitterness where the recipe states its own kettle."""
    bitter = [
        replace(m, recipe=f'{m.recipe}boil_retention_fraction = "{OWN_KETTLE}"\n')
        for one in read_series(priors)
        for m in one.measurements
        if m.quantity == _BITTERNESS and m.half == JUDGED
    ]
    found = [_judged(m, priors, draws, seed + number) for number, m in enumerate(bitter)]
    return coverage_of(found, _BITTERNESS, JUDGED)


def one_kettle(priors: Priors, seed: int = 1) -> float:
    """Return how far the normal scores of beers of one kettle and laboratory should scatter.

    1 for beers of as many kettles. Beers of one kettle share what is not known of it, and the bias
    of their assay: they differ by their lots, batches and single readings alone.
    """
    series = [m for one in read_series(priors) for m in one.measurements]
    shares = []
    for measurement in [m for m in series if m.quantity == _BITTERNESS][::_EVERY]:
        problem, _ = posed(parse_recipe(measurement.recipe), priors)
        found = spread_by_kind(problem, 128, 64, seed).sel(outcome=_BITTERNESS)
        shared = np.hypot(float(found["own_middle"].std()), measurement.bias_sd)
        own = float(found["own_scatter"].median()) / NormalDist().inv_cdf(0.95)
        differing = np.hypot(own, measurement.noise_sd)
        shares.append(differing / np.hypot(shared, differing))
    return float(np.mean(shares)) if shares else float("nan")


def _judged(measurement: Measurement, priors: Priors, draws: int, seed: int) -> Judged:
    problem, _ = posed(parse_recipe(measurement.recipe), priors)
    drawn = simulate(problem, draws, seed=seed, keep=[measurement.quantity])
    values = np.asarray(drawn[measurement.quantity].values, dtype=float)
    values = values + _reading_error(measurement, values, seed)
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    below = float(np.mean(values < measurement.value))
    rank = below + 0.5 * float(np.mean(values == measurement.value))
    return Judged(measurement, rank, float(low), float(middle), float(high))


def _reading_error(measurement: Measurement, values: FloatArray, seed: int) -> FloatArray:
    """Return draws of the reading's error.

    A final gravity is read with the instrument that read the gravity at pitching, which the recipe
    takes as true: of that reading's error the unfermented share of the extract stays.
    """
    rng = np.random.default_rng([seed, 1])
    bias = rng.normal(0.0, measurement.bias_sd, values.size)
    error = bias + rng.normal(0.0, measurement.noise_sd, values.size)
    if measurement.quantity == "final_gravity_sg":
        first = bias + rng.normal(0.0, measurement.noise_sd, values.size)
        left = (np.median(values) - 1.0) / (measurement.given_gravity - 1.0)
        error = error - left * first
    return error


def coverage_of(judged: Iterable[Judged], quantity: str, half: str) -> Coverage:
    """Return the coverage of one outcome in one half, or in both where `half` is empty."""
    rows = [
        j for j in judged if j.measurement.quantity == quantity and half in ("", j.measurement.half)
    ]
    off = np.array([j.measurement.value - j.middle for j in rows])
    scores = np.array([_score(j.rank) for j in rows])
    several = len(rows) > 1
    return Coverage(
        quantity=quantity,
        half=half or "both",
        n=len(rows),
        inside=tuple(sum(j.inside(share) for j in rows) for share in INTERVALS),
        width=float(np.median([j.high - j.low for j in rows])) if rows else float("nan"),
        bias=float(off.mean()) if rows else float("nan"),
        scatter=float(off.std(ddof=1)) if several else float("nan"),
        score_mean=float(scores.mean()) if rows else float("nan"),
        score_sd=float(scores.std(ddof=1)) if several else float("nan"),
    )


def _score(rank: float) -> float:
    """Return the normal score of a rank, held off 0 and 1 by half a draw of 4096."""
    least = 1 / 8192
    return NormalDist().inv_cdf(min(max(rank, least), 1 - least))


def coverage_table(judged: Sequence[Judged]) -> list[Coverage]:
    """Return the coverage of every measured outcome: fitted half, judged half, both."""
    quantities = dict.fromkeys(j.measurement.quantity for j in judged)
    halves = (FITTED, JUDGED, "")
    return [coverage_of(judged, quantity, half) for quantity in quantities for half in halves]


@dataclass(frozen=True)
class KeptCoverage:
    """Tables kept with the brews: the `first` one ever made, and the one of this version.

    `own_kettle` is the judged half's bitterness with the kettle stated, `now` without;
    `one_kettle` the scatter of its scores to be expected, as all its beers are of one kettle.
    """

    first: tuple[Coverage, ...]
    now: tuple[Coverage, ...]
    own_kettle: Coverage
    one_kettle: float


def kept_file() -> Path:
    """Return the file of kept tables, beside the published brews."""
    return brews_file().with_name("coverage.json")


def kept_coverage() -> KeptCoverage:
    """Return the kept tables, without drawing anything: what a page can show at once."""
    content = json.loads(kept_file().read_text(encoding="utf-8"))
    first, now = (tuple(map(_row, content[key])) for key in ("first", "now"))
    return KeptCoverage(first, now, _row(content["own_kettle"]), content["one_kettle"])


def _row(content: Mapping[str, Any]) -> Coverage:
    return Coverage(**{**content, "inside": tuple(content["inside"])})


def kept_text(kept: KeptCoverage) -> str:
    """Return the text of the file of kept tables, numbers to six figures."""
    content = {
        "first": [_plain(row) for row in kept.first],
        "now": [_plain(row) for row in kept.now],
        "own_kettle": _plain(kept.own_kettle),
        "one_kettle": round(kept.one_kettle, 3),
    }
    return json.dumps(content, indent=1) + "\n"


def _plain(row: Coverage) -> dict[str, Any]:
    return {
        key: float(f"{value:.6g}") if isinstance(value, float) else value
        for key, value in asdict(row).items()
    }
