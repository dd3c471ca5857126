"""The public door for type checkers; `__init__.py` imports the same names on first use."""

from brewsim.distributions.adopted import from_scipy as from_scipy
from brewsim.distributions.adopted import kernel_density as kernel_density
from brewsim.distributions.base import Distribution as Distribution
from brewsim.distributions.constructors import arcsine as arcsine
from brewsim.distributions.constructors import bernoulli as bernoulli
from brewsim.distributions.constructors import beta as beta
from brewsim.distributions.constructors import beta_from_moments as beta_from_moments
from brewsim.distributions.constructors import constant as constant
from brewsim.distributions.constructors import curvilinear_trapezoid as curvilinear_trapezoid
from brewsim.distributions.constructors import discrete as discrete
from brewsim.distributions.constructors import empirical as empirical
from brewsim.distributions.constructors import gamma as gamma
from brewsim.distributions.constructors import half_normal as half_normal
from brewsim.distributions.constructors import lognormal as lognormal
from brewsim.distributions.constructors import mixture as mixture
from brewsim.distributions.constructors import normal as normal
from brewsim.distributions.constructors import student_t as student_t
from brewsim.distributions.constructors import triangular as triangular
from brewsim.distributions.constructors import truncated as truncated
from brewsim.distributions.constructors import uniform as uniform
from brewsim.distributions.extremes import exponential as exponential
from brewsim.distributions.extremes import gumbel as gumbel
from brewsim.distributions.extremes import poisson as poisson
from brewsim.distributions.extremes import weibull as weibull
from brewsim.distributions.measured import from_measurements as from_measurements
from brewsim.errors import BrewsimError as BrewsimError
from brewsim.errors import DistributionError as DistributionError
from brewsim.errors import InputError as InputError
from brewsim.errors import StudyError as StudyError
from brewsim.errors import WiringError as WiringError
from brewsim.logbook.brew import read_batches as read_batches
from brewsim.logbook.house import House as House
from brewsim.logbook.house import learn as learn_house
from brewsim.logbook.house import load_house as load_house
from brewsim.logbook.log import Log as Log
from brewsim.logbook.pose import pose as pose
from brewsim.page.figure import figure as figure
from brewsim.page.page import write_report as write_report
from brewsim.page.report import report as report
from brewsim.priors.library import Priors as Priors
from brewsim.priors.library import load_priors as load_priors
from brewsim.recipe.read import read_recipe as read_recipe
from brewsim.recipe.schema import Recipe as Recipe
from brewsim.study.inference.attribution import Attribution as Attribution
from brewsim.study.inference.attribution import attribute as attribute
from brewsim.study.inference.attribution import attribute as explain
from brewsim.study.inference.posterior import Learned as Learned
from brewsim.study.inference.update import update as learn
from brewsim.study.inference.update import update as update
from brewsim.study.model.batch import Batch as Batch
from brewsim.study.model.batch import Reading as Reading
from brewsim.study.model.correlation import Correlation as Correlation
from brewsim.study.model.factor import Factor as Factor
from brewsim.study.model.factor import Kinds as Kinds
from brewsim.study.model.foreign_model import one_by_one as one_by_one
from brewsim.study.model.knob import Choice as Choice
from brewsim.study.model.knob import Knob as Knob
from brewsim.study.model.problem import Problem as Problem
from brewsim.study.model.targets import Target as Target
from brewsim.study.propagation.joint_region import JointRegion as JointRegion
from brewsim.study.propagation.joint_region import joint_region as joint_region
from brewsim.study.propagation.rare_chance import RareChance as RareChance
from brewsim.study.propagation.rare_chance import rare_chance as rare_chance
from brewsim.study.propagation.simulate import simulate as simulate
from brewsim.study.propagation.streaming import summarise_large as summarise_large
from brewsim.study.propagation.summary import summarise as summarise
from brewsim.study.propagation.sweep import turn as turn
from brewsim.study.propagation.variance_by_kind import spread_by_kind as spread_by_kind
from brewsim.study.sensitivity.from_draws import (
    first_order_from_draws as first_order_from_draws,
)
from brewsim.study.sensitivity.gum_budget import GumBudget as GumBudget
from brewsim.study.sensitivity.gum_budget import gum_budget as gum_budget
from brewsim.study.sensitivity.shapley import shapley as shapley
from brewsim.study.sensitivity.sobol import rank as rank
from brewsim.study.sensitivity.variance_budget import variance_budget as variance_budget
from brewsim.study.steering.compare import compare as compare
from brewsim.study.steering.steering import Steered as Steered
from brewsim.study.steering.steering import steer as steer
from brewsim.study.tolerance import conformity as conformity
from brewsim.study.tolerance import tolerance as tolerance
from brewsim.study.tolerance.specification import specify as specify
from brewsim.study.tolerance.tightening import Tightening as Tightening
from brewsim.study.tolerance.tightening import tighten as tighten
from brewsim.study.tolerance.value_of_information import Measurement as Measurement
from brewsim.study.tolerance.value_of_information import Worths as Worths
from brewsim.study.tolerance.value_of_information import worth_of_measuring as worth_of_measuring
from brewsim.wording.content import Content as Content

__version__: str

__all__ = [
    "Attribution",
    "Batch",
    "BrewsimError",
    "Choice",
    "Content",
    "Correlation",
    "Distribution",
    "DistributionError",
    "Factor",
    "GumBudget",
    "House",
    "InputError",
    "JointRegion",
    "Kinds",
    "Knob",
    "Learned",
    "Log",
    "Measurement",
    "Priors",
    "Problem",
    "RareChance",
    "Reading",
    "Recipe",
    "Steered",
    "StudyError",
    "Target",
    "Tightening",
    "WiringError",
    "Worths",
    "__version__",
    "arcsine",
    "attribute",
    "bernoulli",
    "beta",
    "beta_from_moments",
    "compare",
    "conformity",
    "constant",
    "curvilinear_trapezoid",
    "discrete",
    "empirical",
    "explain",
    "exponential",
    "figure",
    "first_order_from_draws",
    "from_measurements",
    "from_scipy",
    "gamma",
    "gum_budget",
    "gumbel",
    "half_normal",
    "joint_region",
    "kernel_density",
    "learn",
    "learn_house",
    "load_house",
    "load_priors",
    "lognormal",
    "mixture",
    "normal",
    "one_by_one",
    "poisson",
    "pose",
    "rank",
    "rare_chance",
    "read_batches",
    "read_recipe",
    "report",
    "shapley",
    "simulate",
    "specify",
    "spread_by_kind",
    "steer",
    "student_t",
    "summarise",
    "summarise_large",
    "tighten",
    "tolerance",
    "triangular",
    "truncated",
    "turn",
    "uniform",
    "update",
    "variance_budget",
    "weibull",
    "worth_of_measuring",
    "write_report",
]

def __dir__() -> list[str]: ...
