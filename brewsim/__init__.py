"""Monte Carlo uncertainty of beer-recipe outcomes.

Each public name is imported on first use, so that `import brewsim` stays quick.
"""

from importlib import import_module
from typing import Any

_HOME = {
    "read_recipe": "brewsim.recipe.read",
    "pose": "brewsim.logbook.pose",
    "Problem": "brewsim.study.model.problem",
    "Kinds": "brewsim.study.model.factor",
    "Target": "brewsim.study.model.targets",
    "simulate": "brewsim.study.propagation.simulate",
    "summarise": "brewsim.study.propagation.summary",
    "rank": "brewsim.study.sensitivity.sobol",
    "shapley": "brewsim.study.sensitivity.shapley",
    "turn": "brewsim.study.propagation.sweep",
    "steer": "brewsim.study.steering.steering",
    "compare": "brewsim.study.steering.compare",
    "specify": "brewsim.study.tolerance.specification",
    "update": "brewsim.study.inference.update",
    "attribute": "brewsim.study.inference.attribution",
    "write_report": "brewsim.page.page",
    "from_measurements": "brewsim.distributions.measured",
} | dict.fromkeys(
    (
        "normal",
        "lognormal",
        "uniform",
        "triangular",
        "beta",
        "gamma",
        "student_t",
        "arcsine",
        "curvilinear_trapezoid",
        "bernoulli",
        "beta_from_moments",
        "half_normal",
        "truncated",
        "discrete",
        "mixture",
        "empirical",
        "constant",
    ),
    "brewsim.distributions.constructors",
)

__all__ = sorted(_HOME)  # noqa: PLE0605 - the table above is the list


def __getattr__(name: str) -> Any:  # noqa: ANN401 - a module attribute can be anything
    if name not in _HOME:
        raise AttributeError(f"module 'brewsim' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
