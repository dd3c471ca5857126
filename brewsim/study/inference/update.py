"""Learn from measured batches: draws of what is uncertain, given every reading.

The target is exact: standard normal latents times the likelihood of the readings. Method: an
annealed start from prior draws by generalised elliptical slices around a linearisation at the
ensemble's mean, then Hamiltonian trajectories along the surface on which the readings hold, each
followed by a slice, so that no chain is caught where a formula has a kink; rare events get a move
of their own. Where many readings make trajectories dear, and where people's answers count whose
surface is no good guide for them, there are slices alone.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.inference.batch_by_batch import BatchByBatch
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.convergence import (
    FLATTERED,
    GROUPS,
    Reached,
    reached_by,
)
from brewsim.study.inference.elliptical_slice import (
    LogLikelihood,
    Reference,
    event_step,
    prior_reference,
    slice_step,
)
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.manifold_hmc import Trajectories
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.predictive_check import (
    WrittenAs,
    plainly,
    remarks_on,
    surprises_of,
    too_many_unexplained,
)
from brewsim.study.inference.reading_checks import checked_batches
from brewsim.study.inference.surface_normals import WholeLayout
from brewsim.study.model.batch import Batch
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress

CHAINS = 256
KEPT_PER_GROUP = 64
_ANNEALING_STEPS, _ANNEALING_WITH_EVENTS = 20, 80
_PLAIN_SHARE = 0.4
_WIDENINGS = (1.0, 2.0, 4.0)
_HOW_OFTEN = (0.7, 0.2, 0.1)
_SLICES, _SLICES_WITH_EVENTS, _SLICES_ALONE = 1, 4, 10
_USUAL_STEPS = 5
_LIMIT_PER_BATCH_S = 0.3


@dataclass
class _Run:
    """The ensemble while it runs."""

    model: Model
    slopes: Linearisation
    rng: np.random.Generator
    state: FloatArray
    level: FloatArray
    references: list[Reference]
    chances: FloatArray
    events: list[tuple[int, list[int]]]
    trajectories: Trajectories | None = None
    by_batch: BatchByBatch | None = None
    kept: list[FloatArray] = field(default_factory=list)

    def step(self, power: float = 1.0) -> None:
        reference = self.references[self.rng.choice(len(self.references), p=self.chances)]
        likelihood = self.model.log_likelihood
        self.state, self.level = slice_step(
            likelihood, reference, self.rng, self.state, self.level, power
        )
        for blocks, how in self._event_moves():
            self.state, self.level = event_step(
                how, blocks, self.rng, self.state, self.level, power
            )

    def _event_moves(self) -> list[tuple[list[tuple[int, list[int]]], LogLikelihood]]:
        """Return which events are tried at once: one at a time where batches are tied.

        An answer about two batches, or a wort that two share, ties them.
        """
        if not self.model.tied:
            return [(self.events, self.model.by_batch)]
        whole = self.model.log_likelihood
        return [([(0, rows)], lambda state: whole(state)[None]) for _, rows in self.events]

    def sweep(self, *, learning: bool = False) -> None:
        """Move every chain far: a trajectory and a few slices, or many slices."""
        slices = _SLICES_WITH_EVENTS if self.events else _SLICES
        if self.by_batch is not None:
            self.state, self.level = self.by_batch.move(
                self.rng, self.state, self.level, learning=learning
            )
        elif self.trajectories is not None:
            self.state, self.level = self.trajectories.move(
                self.rng, self.state, self.level, learning=learning
            )
        else:
            slices = _SLICES_ALONE
        for _ in range(slices):
            self.step()

    def foreseen(self, sweeps: int) -> float:
        """Return the work of so many sweeps' trajectories, at their usual number of steps."""
        if self.trajectories is None:
            return 0.0
        chains, steps = self.state.shape[1], _USUAL_STEPS * sweeps
        return self.model.work.price(steps * chains * self.slopes.layout.operations)

    def settle(self, sweeps: int) -> None:
        """Sweep while both kinds of move learn where the ensemble is; nothing of it is kept."""
        for _ in range(sweeps):
            self.recentre()
            self.sweep(learning=True)

    def recentre(self, power: float = 1.0, also: Sequence[Reference] = ()) -> None:
        """Linearise at the ensemble's mean; `also` are taken as often as the widest."""
        centre = self.state.mean(axis=1)
        layout, room = self.slopes.layout, self.slopes.at(centre)
        along = layout.normals(room).times(self.state - centre[:, None])
        bend = self.model.residuals(self.state) - along.T
        whitened = layout.whitened(room, np.where(np.isfinite(bend), bend, 0.0), power)
        if self.by_batch is not None:
            self.by_batch.learn(centre, room, whitened)
        wider = [layout.normals([part / c for part in whitened]) for c in _WIDENINGS]
        self.references = [*(Reference(centre, normals) for normals in wider), *also]
        weights = np.array([*_HOW_OFTEN, *(_HOW_OFTEN[-1] for _ in also)])
        self.chances = weights / weights.sum()


def update(
    problem: Problem,
    batches: Sequence[Batch],
    *,
    seed: int = 1,
    time_limit_s: float | None = None,
    burn: int = 3,
    keep: int = 4,
    chains: int | None = None,
    outliers: bool = False,
    own_scatter: bool = False,
    progress: Progress | None = None,
    written_as: WrittenAs = plainly,
) -> Learned:
    """Condition the problem's latents on the batches' readings and tasters' answers.

    `burn` and `keep` count sweeps of `chains` chains (256, in a long log 128): left out while the
    moves still learn, then kept. `outliers` takes Student t errors with 4 degrees of freedom, so
    that one wrong reading moves little. Batches scatter as the problem states; with
    `own_scatter` it is learned from 8 batches on how much they scatter beside it (scatter.py). The
    run doubles until means are known to 0.06 posterior standard deviations or `time_limit_s` is
    used up, and begins to keep anew while its chains still remember their start; what was reached
    is part of the answer. `time_limit_s` is counted as work, in seconds of a reference machine, so
    that the same seed gives the same draws everywhere (10, or 0.3 a batch, unless given); 0 keeps
    to `burn` and `keep`. `written_as` writes the values in its remarks. Raises StudyError when
    there is nothing to learn from, or when a batch is there twice.

    >>> from brewsim import Reading, normal
    >>> def twice(a):
    ...     return 2 * a
    >>> problem = Problem.of([twice], {"a": normal(1.0, 0.3)})
    >>> update(problem, [Batch("B1", problem, (Reading("twice", 2.4, 0.1),))], seed=3).trusted
    True
    """
    started = time.perf_counter()
    batches = checked_batches(batches)
    time_limit_s = usual_limit_s(len(batches)) if time_limit_s is None else time_limit_s
    _check(chains, burn, keep)
    model = Model(batches, outliers=outliers, own_scatter=own_scatter)
    slopes = Linearisation(model)
    usual = CHAINS if isinstance(slopes.layout, WholeLayout) else CHAINS // 2
    chains = usual if chains is None else chains
    run = _start(slopes, np.random.default_rng(seed), chains, progress)
    if time_limit_s > 0 and run.foreseen(burn + keep) > time_limit_s / 2:
        run.trajectories = None
    run.settle(burn)
    target, sweep = keep, 0.0
    while True:
        while len(run.kept) < target:
            if len(run.kept) >= max(keep, 2) and model.work.seconds + sweep > time_limit_s:
                break
            before = model.work.seconds
            run.sweep()
            sweep = model.work.seconds - before
            run.kept.append(model.scores(run.state).astype(np.float32))
            if progress:
                progress(0.3 + 0.7 * len(run.kept) / target, f"step {len(run.kept)} of {target}")
        reached = reached_by(np.stack(run.kept))
        left = time_limit_s - model.work.seconds
        if reached.settled or left < sweep:
            break
        if reached.under_way and left > (1 + keep) * sweep:
            run.kept.clear()  # not yet where it should be: all so far was burn-in
            run.settle(1)
        target *= 2
    return _learned(problem, run, reached, time.perf_counter() - started, written_as)


def usual_limit_s(batches: int, least: float = 10.0) -> float:
    """Return the work that learning from so many batches is given unless told otherwise."""
    return max(least, _LIMIT_PER_BATCH_S * batches)


def _check(chains: int | None, burn: int, keep: int) -> None:
    if chains is not None and (chains % GROUPS or chains < 1):
        raise StudyError(f"chains must be a multiple of {GROUPS} above 0, not {chains}")
    if burn < 0 or keep < 1:
        raise StudyError(f"at least one sweep has to be kept, not {keep} after {burn}")


def _start(
    slopes: Linearisation, rng: np.random.Generator, chains: int, progress: Progress | None
) -> _Run:
    model = slopes.model
    state = rng.standard_normal((len(model.names), chains))
    prior = [prior_reference(len(model.names))]
    level, events = model.log_likelihood(state), model.event_latents()
    run = _Run(model, slopes, rng, state, level, prior, np.ones(1), events)
    if not model.answers and isinstance(slopes.layout, BlockLayout):
        run.by_batch = BatchByBatch(slopes, slopes.layout)
    elif not model.answers:
        run.trajectories = Trajectories(slopes)
    steps = _ANNEALING_WITH_EVENTS if events else _ANNEALING_STEPS
    for count, power in enumerate(np.linspace(0, 1, steps + 1)[1:] ** 3):
        if count >= _PLAIN_SHARE * steps and count % 5 == 0:
            run.recentre(float(power), also=prior)
        run.step(float(power))
        if progress and count % 10 == 0:
            progress(0.2 * count / steps, "looking for what fits")
    return run


def _learned(
    problem: Problem, run: _Run, reached: Reached, seconds: float, written_as: WrittenAs
) -> Learned:
    kept = np.stack(run.kept)
    replicate, flat = _thinned(kept, run.rng)
    draws = {name: flat[i] for i, name in enumerate(run.model.names)}
    mean, spread = kept.mean(axis=(0, 2), dtype=float), kept.std(axis=(0, 2), dtype=float)
    moments = {n: (float(mean[i]), float(spread[i])) for i, n in enumerate(run.model.names)}
    surprises = surprises_of(run.model, run.state, run.rng)
    unexplained = too_many_unexplained(surprises, outliers=run.model.outliers)
    return Learned(
        problem=problem,
        batches=run.model.batches,
        draws=draws,
        moments=moments,
        replicate=replicate,
        precision=FLATTERED * reached.precision,
        worst=FLATTERED * reached.worst + reached.bias,
        drift=reached.drift,
        memory=reached.memory,
        seconds=seconds,
        trusted=reached.trusted and not unexplained,
        remarks=(*reached.remarks, *remarks_on(surprises, written_as), *unexplained),
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
