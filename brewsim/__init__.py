"""Monte Carlo uncertainty of beer-recipe outcomes.

Each public name is imported on first use, so that `import brewsim` stays quick; `__init__.pyi`
says the same to type checkers.
"""

from importlib import import_module

_STUDIES = {
    "model.batch": ("Batch", "Reading"),
    "model.correlation": ("Correlation",),
    "model.factor": ("Factor", "Kinds"),
    "model.foreign_model": ("one_by_one",),
    "model.knob": ("Choice", "Knob"),
    "model.problem": ("Problem",),
    "model.targets": ("Target",),
    "propagation.joint_region": ("JointRegion", "joint_region"),
    "propagation.rare_chance": ("RareChance", "rare_chance"),
    "propagation.simulate": ("simulate",),
    "propagation.streaming": ("summarise_large",),
    "propagation.summary": ("summarise",),
    "propagation.sweep": ("turn",),
    "propagation.variance_by_kind": ("spread_by_kind",),
    "sensitivity.from_draws": ("first_order_from_draws",),
    "sensitivity.gum_budget": ("GumBudget", "gum_budget"),
    "sensitivity.shapley": ("shapley",),
    "sensitivity.sobol": ("rank",),
    "sensitivity.variance_budget": ("variance_budget",),
    "inference.attribution": ("Attribution", "attribute"),
    "inference.posterior": ("Learned",),
    "inference.update": ("update",),
    "steering.compare": ("compare",),
    "steering.steering": ("Steered", "steer"),
    "tolerance.specification": ("specify",),
    "tolerance.tightening": ("Tightening", "tighten"),
    "tolerance.value_of_information": ("Measurement", "Worths", "worth_of_measuring"),
}
_ROOMS = {
    "distributions.adopted": ("from_scipy", "kernel_density"),
    "distributions.base": ("Distribution",),
    "distributions.extremes": ("exponential", "gumbel", "poisson", "weibull"),
    "distributions.constructors": (
        "arcsine",
        "bernoulli",
        "beta",
        "beta_from_moments",
        "constant",
        "curvilinear_trapezoid",
        "discrete",
        "empirical",
        "gamma",
        "half_normal",
        "lognormal",
        "mixture",
        "normal",
        "student_t",
        "triangular",
        "truncated",
        "uniform",
    ),
    "distributions.measured": ("from_measurements",),
    "errors": ("BrewsimError", "DistributionError", "InputError", "StudyError", "WiringError"),
    "logbook.house": ("House", "load_house"),
    "logbook.brew": ("read_batches",),
    "logbook.log": ("Log",),
    "logbook.pose": ("pose",),
    "page.figure": ("figure",),
    "page.page": ("write_report",),
    "page.report": ("report",),
    "priors.library": ("Priors", "load_priors"),
    "recipe.read": ("read_recipe",),
    "recipe.schema": ("Recipe",),
    "wording.content": ("Content",),
}
_HOMES = _ROOMS | {f"study.{room}": names for room, names in _STUDIES.items()}
_HOME = {name: (f"brewsim.{room}", name) for room, names in _HOMES.items() for name in names} | {
    "explain": ("brewsim.study.inference.attribution", "attribute"),
    "learn": ("brewsim.study.inference.update", "update"),
    "learn_house": ("brewsim.logbook.house", "learn"),
}
_MODULES = {name: f"brewsim.study.tolerance.{name}" for name in ("conformity", "tolerance")}

__all__ = sorted([*_HOME, *_MODULES, "__version__"])  # noqa: PLE0605 - the tables above


def __getattr__(name: str) -> object:
    if name in _MODULES:
        return import_module(_MODULES[name])
    if name == "__version__":
        from importlib.metadata import version

        return version("brewsim")
    if name not in _HOME:
        raise AttributeError(f"module 'brewsim' has no attribute {name!r}")
    module, original = _HOME[name]
    return getattr(import_module(module), original)


def __dir__() -> list[str]:
    return __all__
