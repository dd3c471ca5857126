"""Fit response surfaces over all dials at once, and measure how far they are off."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import product

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model import targets
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.steering.surface_basis import (
    Basis,
    grid,
    lines_and_polynomials,
    polynomials,
    terms_of,
)
from brewsim.study.steering.surface_data import AtSettings, ComputedSettings
from brewsim.study.steering.surfaces import (
    DRAWS_PER_REPLICATE,
    FRESH,
    MOST_SD,
    Ratio,
    Surface,
    SurfaceError,
    Surfaces,
)

_ORDERS = (1, 2, 3, 4, 5, 6)
_NODES, _PAIR_NODES = 29, 9
_SMOOTH = 4
_MOST_TABLE = 400
_FIT_SHARE = 0.5
"""The part of the wanted error that a fit may use up before its draws are rounded."""
_ROUNDED = 32_767
_FLOOR = 1e-3


def surfaces(
    problem: Problem,
    outcomes: Sequence[str],
    ratios: Mapping[str, Ratio] | None = None,
    *,
    seed: int = 1,
    fresh: int = FRESH,
) -> Surfaces | None:
    """Fit every outcome over all knobs at once; None where no knob can be carried along.

    Rare events are left out. `fresh` settings for each combination of choices measure the errors.
    """
    known = {n: r for n, r in (ratios or {}).items() if n in outcomes}
    plan = Plan(rows=DRAWS_PER_REPLICATE, seed=seed)
    data = ComputedSettings(without_events(problem), outcomes, known, plan, fresh)
    if not (data.dials or data.choosers) or not data.usable.any():
        return None
    return SurfaceFit(data).result()


def surfaces_of(
    problem: Problem, values: AtSettings, plan: Plan, *, fresh: int = FRESH
) -> Surfaces | None:
    """Fit what a problem's knobs do to values of their own making; None where no knob can move.

    None too where no draw has a value of every outcome today.
    """
    data = ComputedSettings(problem, values.outcomes, {}, plan, fresh, values)
    if not (data.dials or data.choosers) or not data.usable.any():
        return None
    return SurfaceFit(data).result()


class SurfaceFit:
    """The surfaces fitted to computed settings, and how far off they are."""

    def __init__(self, data: ComputedSettings) -> None:
        self.data, self.problem = data, data.problem
        self.outcomes, self.ratios = data.outcomes, data.ratios

    @np.errstate(over="ignore", invalid="ignore")
    def result(self) -> Surfaces:
        """Fit every outcome, measure errors; a draw without a value at a setting is in none."""
        found: dict[str, Surface] = {}
        start = [self.data.computed(self.data.starts, choice) for choice in self.data.combinations]
        for name in self.data.fitted:
            found[name] = self._surface(name, start)
        errors, points = self._measured(found)
        return Surfaces(
            self.data.dials,
            self.data.choosers,
            found,
            self.ratios,
            self.data.today,
            errors,
            points,
            len(self.data.fresh) * len(self.data.combinations),
            tuple(n for n in self.outcomes if self._snapped(n, found)),
        )

    def _snapped(self, name: str, found: Mapping[str, Surface]) -> bool:
        ratio = self.ratios.get(name)
        sides = (ratio.top, ratio.bottom) if ratio else (name,)
        return any(found[side].basis.exact_at_nodes for side in sides)

    def _surface(self, name: str, start: Sequence[Mapping[str, FloatArray]]) -> Surface:
        dials, choosers = self.data.reaching(name)
        blocks = self.data.blocks(choosers)
        chosen = tuple(self.data.choosers[i].id for i in choosers)
        best: tuple[float, Basis, FloatArray] | None = None
        for order in _ORDERS:
            if terms_of(len(dials), order) > len(self.data.starts) / 1.5:
                break
            basis = polynomials(dials, order)
            table = [_solved(basis.at(self.data.starts), start[b][name]) for b in blocks]
            coefficients = np.concatenate(table)
            error = self._error(name, basis, blocks, coefficients)
            if best is None or error < best[0]:
                best = error, basis, coefficients
            if error <= _FIT_SHARE * MOST_SD:
                return self._packed(name, chosen, best[1:], blocks)
        if best is not None and best[0] <= MOST_SD:
            return self._packed(name, chosen, best[1:], blocks)
        for basis, places in self._tables(name, dials):
            along = basis.at(
                places if basis.exact_at_nodes else np.vstack([places, self.data.starts])
            )
            table = [
                _solved(
                    along,
                    np.vstack(
                        [
                            self.data.computed(places, self.data.combinations[b])[name],
                            start[b][name],
                        ]
                    )[: len(along)],
                )
                for b in blocks
            ]
            coefficients = np.concatenate(table)
            error = self._error(name, basis, blocks, coefficients)
            best = error, basis, coefficients
            if error <= MOST_SD:
                break
        if best is None:
            raise AssertionError(name)
        return self._packed(name, chosen, best[1:], blocks)

    def _tables(self, name: str, dials: Sequence[int]) -> Iterator[tuple[Basis, FloatArray]]:
        """Yield what is tried where polynomials miss, and the places each is fitted at."""
        now = self.data.now
        bent = sorted(dials, key=lambda dial: -self._bend(name, dial))
        for count, nodes in ((1, _NODES), (2, _PAIR_NODES)):
            chosen = {d: np.linspace(0, 1, nodes).tolist() for d in bent[:count]}
            others = [d for d in dials if d not in chosen]
            each = len(others) + 2 if others else 1
            if len(chosen) < count or nodes ** len(chosen) * each > _MOST_TABLE:
                continue
            basis = lines_and_polynomials(chosen, others, min(1, len(others)), _SMOOTH)
            places = np.tile(now, (nodes ** len(chosen) * each, 1))
            places[:, others] = np.tile(self.data.starts[:each], (nodes ** len(chosen), 1))[
                :, others
            ]
            corners = np.array(list(product(*chosen.values())))
            places[:, list(chosen)] = corners.repeat(each, axis=0)
            yield basis, places
        count = max((n for n in range(9, 1, -1) if n ** len(dials) <= _MOST_TABLE), default=0)
        if count:
            along = [_nodes(count, now[d]) for d in dials]
            places = np.tile(now, (int(np.prod([len(n) for n in along])), 1))
            places[:, dials] = list(product(*along))
            yield grid(dials, along), places

    def _bend(self, name: str, dial: int) -> float:
        """Return how far an outcome is from a cubic along one dial, the others as they are."""
        places = np.tile(self.data.now, (_NODES, 1))
        places[:, dial] = np.linspace(0, 1, _NODES)
        values = self.data.computed(places, self.data.combinations[0])[name]
        products = polynomials([dial], 3).at(places)
        return float(np.quantile(np.abs(products @ _solved(products, values) - values), 0.95))

    def _error(
        self, name: str, basis: Basis, blocks: Sequence[int], coefficients: FloatArray
    ) -> float:
        return self._missed(name, blocks, self._rebuilt(basis, blocks, coefficients))

    def _rebuilt(self, basis: Basis, blocks: Sequence[int], table: FloatArray) -> FloatArray:
        """Return columns of coefficients at the fresh settings, (blocks, settings, columns)."""
        products, size = basis.at(self.data.fresh), len(basis.terms)
        return np.stack([products @ table[i * size : (i + 1) * size] for i in range(len(blocks))])

    def _missed(self, name: str, blocks: Sequence[int], found: FloatArray) -> float:
        """Return the error of what a surface gives at the fresh settings."""
        apart = [
            self._apart(name, own, self.data.true[b]) for own, b in zip(found, blocks, strict=True)
        ]
        return float(np.quantile(np.concatenate([a.ravel() for a in apart]), 0.95))

    def _apart(self, name: str, found: FloatArray, true: Mapping[str, FloatArray]) -> FloatArray:
        """Return how far a surface is off, as it shows: a side of a ratio by what it does there."""
        parts = []
        if name in self.outcomes:
            parts.append(self._distance(name, found, true[name]))
        for outcome, ratio in self.ratios.items():
            if name in (ratio.top, ratio.bottom):
                sides = {ratio.top: true[ratio.top], ratio.bottom: true[ratio.bottom], name: found}
                made = ratio.of(sides[ratio.top], sides[ratio.bottom])
                parts.append(self._distance(outcome, made, true[outcome]))
        return np.maximum.reduce(parts)

    def _distance(self, name: str, found: FloatArray, true: FloatArray) -> FloatArray:
        """Return distances in standard deviations on the outcome's axis, 0 without a value."""
        today = self.data.today[name][self.data.usable]
        if self.problem.scales.get(name, "linear") != "linear":
            least = _FLOOR * float(np.median(today))
            found, true, today = (np.log2(np.maximum(v, least)) for v in (found, true, today))
        spread = float(today.std()) or 1.0
        return np.where(np.isfinite(true), np.abs(found - true) / spread, 0.0)

    def _packed(
        self,
        name: str,
        choices: tuple[str, ...],
        fitted: tuple[Basis, FloatArray],
        blocks: Sequence[int],
    ) -> Surface:
        """Write the coefficients of all draws as few shapes, as many as the error wants."""
        basis, coefficients = fitted
        mean = coefficients.mean(axis=1).astype("<f4").astype(float)
        centred = coefficients - mean[:, None]
        left = np.linalg.eigh(centred @ centred.T)[1][:, ::-1]
        right = left.T @ centred
        whole = self._error(name, basis, blocks, coefficients)
        allowed = max(_FIT_SHARE * MOST_SD, 1.1 * whole)
        unit = np.maximum(np.abs(right).max(axis=1), 1e-300) / _ROUNDED
        scores = np.round(right / unit[:, None]).astype(np.int16)
        shapes = (left * unit).astype("<f4").astype(float)
        along = self._rebuilt(basis, blocks, shapes)
        found = self._rebuilt(basis, blocks, mean[:, None])
        made = None
        for rank in range(1, min(coefficients.shape) + 1):
            found = found + along[..., rank - 1 : rank] * scores[rank - 1].astype(float)
            made = Surface(basis, choices, mean, shapes[:, :rank], scores[:rank])
            if self._missed(name, blocks, found) <= allowed:
                break
        if made is None:
            raise AssertionError(name)
        return made

    def _measured(
        self, found: Mapping[str, Surface]
    ) -> tuple[dict[str, SurfaceError], tuple[float, float, float]]:
        """Return each outcome's error on fresh settings, and that of the chance of all targets."""
        apart: dict[str, list[FloatArray]] = {name: [] for name in self.outcomes}
        points: list[float] = []
        wanted = {n: t for n, t in self.problem.targets.items() if n in self.outcomes}
        for place, combination in enumerate(self.data.combinations):
            values = {
                n: s.at(self.data.fresh, self._block(s, combination)) for n, s in found.items()
            }
            for name, ratio in self.ratios.items():
                values[name] = ratio.of(values[ratio.top], values[ratio.bottom])
            true = self.data.true[place]
            for name in self.outcomes:
                apart[name].append(self._distance(name, values[name], true[name]).ravel())
            if wanted:
                landed = [
                    np.logical_and.reduce([targets.lands(y[n], t) for n, t in wanted.items()])
                    for y in (values, true)
                ]
                points += np.abs(landed[0].mean(axis=1) - landed[1].mean(axis=1)).tolist()
        errors = {}
        for name, parts in apart.items():
            whole = np.concatenate(parts)
            median, most = np.quantile(whole, (0.5, 0.95))
            errors[name] = SurfaceError(float(median), float(most), float(whole.max()))
        if not points:
            return errors, (0.0, 0.0, 0.0)
        median, most = np.quantile(points, (0.5, 0.95))
        return errors, (float(median), float(most), float(max(points)))

    def _block(self, surface: Surface, combination: Sequence[str]) -> int:
        places = [i for i, k in enumerate(self.data.choosers) if k.id in surface.choices]
        blocks = [
            tuple(self.data.combinations[b][i] for i in places) for b in self.data.blocks(places)
        ]
        return blocks.index(tuple(combination[i] for i in places))


def _nodes(count: int, now: float) -> list[float]:
    """Return evenly spread nodes with today's place in the stead of the nearest."""
    at = np.linspace(0, 1, count)
    inner = int(np.argmin(np.abs(at - now)))
    at[inner] = now
    return np.unique(np.concatenate([[0.0], at, [1.0]])).tolist()


def _solved(products: FloatArray, values: FloatArray) -> FloatArray:
    """Return the coefficients, (terms, draws), that come nearest to the values."""
    return np.asarray(np.linalg.pinv(products, rcond=1e-10) @ values)
