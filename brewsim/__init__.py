"""Monte Carlo uncertainty of beer-recipe outcomes.

Each public name is imported on first use, so that `import brewsim` stays quick.
"""

from importlib import import_module
from typing import Any

_HOME = {
    "read_recipe": "brewsim.recipe.read",
    "pose": "brewsim.recipe.pose",
    "Problem": "brewsim.study.problem",
    "Kinds": "brewsim.study.problem",
    "Target": "brewsim.study.problem",
    "simulate": "brewsim.study.simulate",
    "summarise": "brewsim.study.summary",
    "rank": "brewsim.study.sensitivity",
    "shapley": "brewsim.study.shapley",
    "turn": "brewsim.study.knobs",
    "steer": "brewsim.study.steering",
    "compare": "brewsim.study.compare",
    "specify": "brewsim.study.specification",
    "update": "brewsim.study.update",
    "attribute": "brewsim.study.attribution",
    "write_report": "brewsim.report.page",
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
    "brewsim.distributions.families",
)

__all__ = sorted(_HOME)  # noqa: PLE0605 - the table above is the list


def __getattr__(name: str) -> Any:  # noqa: ANN401 - a module attribute can be anything
    if name not in _HOME:
        raise AttributeError(f"module 'brewsim' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return __all__
