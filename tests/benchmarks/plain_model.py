"""A problem as a plain function and as a straight script, for peers that are timed beside it."""

import numpy as np
from scipy.special import ndtri

from brewsim.graph.evaluate import run
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Assembly


class Plain:
    """The problem as a plain function of uniform points, for libraries that sample themselves."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.graph = problem.graph.pruned(problem.outcomes)
        self.assembly = Assembly(problem, self.graph.inputs)
        self.count = len(problem.factors)

    def __call__(self, uniform: np.ndarray) -> np.ndarray:
        """Return outcomes (outcomes, n) for uniform points (factors, n)."""
        outcomes = []
        for start in range(0, uniform.shape[1], 16_384):
            part = ndtri(np.clip(uniform[:, start : start + 16_384], 1e-12, 1 - 1e-12))
            values = run(self.graph.nodes.values(), self.assembly.values(part))
            outcomes.append(
                np.stack(
                    [np.broadcast_to(values[n], part.shape[1:]) for n in self.problem.outcomes]
                )
            )
        return np.concatenate(outcomes, axis=1)


class Script:
    """The same formulas in a straight line, fed by NumPy's own generator, in blocks of 16k."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        graph = problem.graph.pruned(problem.outcomes)
        assembly = Assembly(problem, graph.inputs)
        self.assembly, self.active = assembly, assembly.active
        lines = [f"    {n.name} = f_{n.name}({', '.join(n.needs)})" for n in graph.nodes.values()]
        inputs = ", ".join(graph.inputs)
        body = "\n".join(
            [f"def brew({inputs}):", *lines, f"    return {', '.join(problem.outcomes)}"]
        )
        space = {f"f_{n.name}": n.formula for n in graph.nodes.values()}
        exec(body, space)  # noqa: S102 - a script written out from our own formulas
        self.brew = space["brew"]

    def __call__(self, draws: int) -> object:
        """Draw, compute and take quantiles."""
        rng = np.random.default_rng(1)
        parts = []
        for _ in range(draws // 16_384):
            rows = [np.empty(0)] * len(self.problem.factors)
            for place in self.active:
                rows[place] = rng.standard_normal(16_384)
            values = self.assembly.values(rows)
            with np.errstate(all="ignore"):
                parts.append(self.brew(**values))
        whole = [
            np.concatenate([np.broadcast_to(p, (16_384,)) for p in column])
            for column in zip(*parts, strict=True)
        ]
        return [np.quantile(y, [0.05, 0.5, 0.95]) for y in whole]
