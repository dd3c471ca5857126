"""Learn from measured batches: draws of what is uncertain, given every reading.

The target is exact: standard normal latents times the likelihood of the readings. Method: an
annealed start from prior draws, then generalised elliptical slices around a linearisation at the
ensemble's mean, its widening drawn at random; rare events get a move of their own.
"""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import stdtrit

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.problem import Problem
from brewsim.study.readings import Batch, Model, Reading
from brewsim.study.slices import Reference, event_step, prior_reference, slice_step

CHAINS = 256
GROUPS = 8
KEPT_PER_GROUP = 64
_ANNEALING_STEPS = 60
_WIDENINGS = (1.0, 2.0, 4.0)
_PRECISION = 0.05
_DRIFTS = 3.0

Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Surprise:
    """How a reading compares with what was expected before it was read."""

    batch: str
    label: str
    value: float
    expected: float
    low: float
    high: float
    chance: float
    residual: float


@dataclass(frozen=True)
class Learned:
    """What the readings leave of the uncertainty.

    `draws` maps a latent's name (see readings.py) to its values in `len(replicate)` draws;
    `moments` gives its mean and standard deviation over the whole run; `replicate` says which
    independent group of chains each draw came from. `precision` is the largest sampling error of
    a posterior mean, in posterior standard deviations.
    """

    problem: Problem
    batches: tuple[Batch, ...]
    draws: Mapping[str, FloatArray]
    moments: Mapping[str, tuple[float, float]]
    replicate: FloatArray
    precision: float
    drift: float
    seconds: float
    trusted: bool
    remarks: tuple[str, ...]
    surprises: tuple[Surprise, ...] = field(default=())

    def mean(self, latent: str) -> float:
        """Posterior mean of a latent's normal score; 0 when no reading reaches it."""
        return self.moments.get(latent, (0.0, 1.0))[0]

    def standard_deviation(self, latent: str) -> float:
        """Posterior standard deviation of a latent's normal score; 1 when not reached."""
        return self.moments.get(latent, (0.0, 1.0))[1]


@dataclass
class _Run:
    """The ensemble while it runs."""

    model: Model
    rng: np.random.Generator
    state: FloatArray
    level: FloatArray
    references: list[Reference]
    events: list[tuple[int, list[int]]]
    kept: list[FloatArray] = field(default_factory=list)

    def step(self, power: float = 1.0) -> None:
        reference = self.references[self.rng.integers(len(self.references))]
        likelihood = self.model.log_likelihood
        self.state, self.level = slice_step(
            likelihood, reference, self.rng, self.state, self.level, power
        )
        self.state, self.level = event_step(
            self.model.by_batch, self.events, self.rng, self.state, self.level, power
        )

    def recentre(self) -> None:
        centre = self.state.mean(axis=1)
        slope = self.model.jacobian(centre)
        self.references = [Reference(centre, slope / c) for c in _WIDENINGS]


def update(
    problem: Problem,
    batches: Sequence[Batch],
    *,
    seed: int = 1,
    time_limit_s: float = 10.0,
    burn: int = 100,
    keep: int = 200,
    chains: int = CHAINS,
    outliers: bool = False,
    progress: Progress | None = None,
) -> Learned:
    """Condition the problem's latents on the batches' readings.

    `outliers` takes Student t errors with 4 degrees of freedom, so that one wrong reading moves
    little. The run doubles until every mean is known to 0.05 posterior standard deviations or the
    time limit is reached; what was reached is part of the answer. Raises StudyError when there is
    nothing to learn from, or when a batch is there twice.
    """
    started = time.perf_counter()
    if chains % GROUPS:
        raise StudyError(f"chains must be a multiple of {GROUPS}")
    model = Model(batches, outliers=outliers)
    run = _start(model, np.random.default_rng(seed), chains, progress)
    for step in range(burn):
        if step in {0, burn // 3, 2 * burn // 3}:
            run.recentre()
        run.step()
    target = keep
    while True:
        while len(run.kept) < target:
            run.step()
            run.kept.append(run.state.astype(np.float32))
            if progress and len(run.kept) % 20 == 0:
                progress(0.3 + 0.7 * len(run.kept) / target, f"step {len(run.kept)} of {target}")
        precision, drift = _reached(np.stack(run.kept))
        used = time.perf_counter() - started
        settled = precision <= _PRECISION and drift <= _DRIFTS
        if settled or used * 1.6 > time_limit_s:
            break
        target *= 2
    return _learned(problem, run, precision, drift, time.perf_counter() - started)


def _start(model: Model, rng: np.random.Generator, chains: int, progress: Progress | None) -> _Run:
    state = rng.standard_normal((len(model.names), chains))
    prior = [prior_reference(len(model.names))]
    run = _Run(model, rng, state, model.log_likelihood(state), prior, model.event_latents())
    for count, power in enumerate(np.linspace(0, 1, _ANNEALING_STEPS + 1)[1:] ** 3):
        run.step(float(power))
        if progress and count % 10 == 0:
            progress(0.2 * count / _ANNEALING_STEPS, "looking for what fits")
    return run


def _reached(kept: FloatArray) -> tuple[float, float]:
    """Return the largest half width of a mean and drift between halves, in their own units."""
    steps, latents, chains = kept.shape
    groups = kept.reshape(steps, latents, GROUPS, chains // GROUPS)
    means = groups.mean(axis=(0, 3), dtype=float)
    spread = np.maximum(kept.std(axis=(0, 2), dtype=float), 1e-12)
    factor = float(stdtrit(GROUPS - 1, 0.975)) / np.sqrt(GROUPS)
    half_width = factor * means.std(axis=1, ddof=1) / spread
    halves = [part.mean(axis=(0, 3), dtype=float) for part in np.array_split(groups, 2)]
    change = np.abs(halves[0].mean(1) - halves[1].mean(1)) / spread
    return float(half_width.max()), float((change / np.maximum(half_width, 1e-12)).max() / 2)


def _learned(
    problem: Problem, run: _Run, precision: float, drift: float, seconds: float
) -> Learned:
    kept = np.stack(run.kept)
    replicate, flat = _thinned(kept, run.rng)
    draws = {name: flat[i] for i, name in enumerate(run.model.names)}
    mean, spread = kept.mean(axis=(0, 2), dtype=float), kept.std(axis=(0, 2), dtype=float)
    moments = {n: (float(mean[i]), float(spread[i])) for i, n in enumerate(run.model.names)}
    surprises = _surprises(run.model, flat, run.rng)
    remarks = list(_remarks(precision, drift, surprises))
    return Learned(
        problem=problem,
        batches=run.model.batches,
        draws=draws,
        moments=moments,
        replicate=replicate,
        precision=precision,
        drift=drift,
        seconds=seconds,
        trusted=precision <= 2 * _PRECISION and drift <= _DRIFTS,
        remarks=tuple(remarks),
        surprises=surprises,
    )


def _thinned(kept: FloatArray, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    steps, latents, chains = kept.shape
    per_group = chains // GROUPS
    columns, replicate = [], []
    for group in range(GROUPS):
        when = np.linspace(0, steps - 1, KEPT_PER_GROUP).round().astype(int)
        chain = np.resize(rng.permutation(per_group), KEPT_PER_GROUP) + group * per_group
        columns.append(kept[when, :, chain].T)
        replicate += [group] * KEPT_PER_GROUP
    return np.array(replicate), np.concatenate(columns, axis=1).astype(float).reshape(latents, -1)


def _surprises(model: Model, draws: FloatArray, rng: np.random.Generator) -> tuple[Surprise, ...]:
    before = model.predicted(rng.standard_normal((len(model.names), 4096)))
    after = model.predicted(draws)
    found = []
    for i, (batch, reading) in enumerate(model.readings):
        expected = before[i] + reading.noise * rng.standard_normal(before.shape[1])
        if reading.trials:
            expected = rng.binomial(reading.trials, np.clip(before[i], 0, 1)).astype(float)
        value = float(np.log(reading.value)) if reading.scale == "log" else reading.value
        below = (np.sum(expected <= value) + 0.5) / (len(expected) + 1)
        centre, low, high = np.nanquantile(expected, [0.5, 0.05, 0.95])
        if reading.scale == "log":
            centre, low, high = np.exp([centre, low, high])
        found.append(
            Surprise(
                batch=batch.id,
                label=_named(reading),
                value=reading.value,
                expected=float(centre),
                low=float(low),
                high=float(high),
                chance=float(2 * min(below, 1 - below)),
                residual=_residual(reading, value, float(after[i].mean())),
            )
        )
    return tuple(found)


def _residual(reading: Reading, value: float, predicted: float) -> float:
    if reading.trials:
        noise = np.sqrt(max(predicted * (1 - predicted), 1e-9) * reading.trials)
        return float((value - predicted * reading.trials) / noise)
    return float((value - predicted) / reading.noise)


def _named(reading: Reading) -> str:
    return reading.label or reading.quantity


def _remarks(precision: float, drift: float, surprises: Sequence[Surprise]) -> list[str]:
    remarks = []
    if precision > _PRECISION:
        remarks.append(
            f"the time ran out: means are known to {precision:.2f} of their own spread, "
            f"{_PRECISION} was wanted"
        )
    if drift > _DRIFTS:
        remarks.append("the two halves of the run disagree: do not trust this answer")
    remarks += [
        f"batch {s.batch}: {s.label} read {s.value:.4g}, expected {s.low:.4g} to {s.high:.4g}; "
        f"a reading this far out has a chance of {s.chance:.2g}"
        for s in surprises
        if s.chance < 0.01
    ]
    remarks += [
        f"batch {s.batch}: nothing that was learned explains {s.label} = {s.value:.4g}; "
        f"it stays {abs(s.residual):.1f} reading errors away. Check the reading"
        for s in surprises
        if abs(s.residual) > 3.5
    ]
    return remarks
