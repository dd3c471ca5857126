"""Every formula of every stage keeps the rules that the page, the trace and the graph rest on."""

import inspect
import itertools
import math
import re

import pytest

from brewsim.beer.hop_rows import lists_of
from brewsim.beer.process_settings import planned_of
from brewsim.beer.statements import Basis, resolve
from brewsim.beer.trace import equation_of, source_of
from brewsim.beer.volume_plan import plan
from brewsim.beer_graph import beer_graph, module_of, stage_modules
from brewsim.dims import axes_of
from brewsim.graph.build import formulas_in, inputs_in, ranges_in
from brewsim.priors.library import load_priors
from brewsim.quantities.catalogue import BY_QUANTITY
from brewsim.quantities.dimensions import model_unit_of
from brewsim.recipe.read import parse_recipe
from brewsim.recipe.starter import starter_recipe
from brewsim.units import UNIT_BY_ENDING, unit_of

MODULES = [module_of(stage) for stage in stage_modules()]
FORMULAS = [
    pytest.param(formula, id=f"{formula.__module__.rpartition('.')[2]}.{formula.__name__}")
    for formula in formulas_in(*MODULES)
]
INPUTS = [
    pytest.param(name, given, id=name)
    for module in MODULES
    for name, given in inputs_in(module).items()
]
VARIANTS = list(
    itertools.product(
        ("kinetic", "empirical"),
        ("stated", "usual", "no_sparge", "batch_sparge", "continuous_sparge"),
        ("keg", "bottle"),
        ("line", "balling"),
    )
)


def whole(bitterness="kinetic", lauter="stated", package="bottle", alcohol="line", given=()):
    variants = {
        "bitterness_ibu": bitterness,
        "mash_efficiency_fraction": lauter,
        "carbonation_vol": package,
        "alcohol_by_weight_fraction": alcohol,
    }
    return beer_graph(variants, given)


@pytest.mark.parametrize("formula", FORMULAS)
def test_every_formula_says_where_it_comes_from(formula):
    source = source_of(formula)

    assert source != "no source"
    assert len(source) > 8


@pytest.mark.parametrize("formula", FORMULAS)
def test_every_formula_has_a_label_and_an_equation(formula):
    label = inspect.getdoc(formula).partition("\n")[0]

    assert label.endswith(".")
    assert label[0].isupper() or label[0].isdigit()
    assert not re.match(r"(Return|Compute|Calculate|Get)\b", label)
    assert len(label) < 110
    assert equation_of(formula)


@pytest.mark.parametrize("formula", FORMULAS)
def test_every_formula_has_a_unit_ending_known_shapes_and_no_defaults(formula):
    signature = inspect.signature(formula)
    name = formula.__name__.partition("__")[0]

    assert unit_of(name) is not None, f"{name} ends in none of {', '.join(UNIT_BY_ENDING)}"
    assert model_unit_of(name) is not None
    assert axes_of(formula.__annotations__["return"]) is not None
    for parameter in signature.parameters.values():
        assert parameter.default is parameter.empty
        assert parameter.kind is parameter.POSITIONAL_OR_KEYWORD
        assert axes_of(parameter.annotation) is not None


@pytest.mark.parametrize("formula", FORMULAS)
def test_no_formula_reads_a_list_into_a_longer_list(formula):
    """Only a result without a list may sum one; two lists never meet, but by an index."""
    result = axes_of(formula.__annotations__["return"])
    needs = {axes_of(p.annotation) for p in inspect.signature(formula).parameters.values()}
    lists = {axes[0] for axes in needs if axes}

    if result:
        assert lists <= {result[0], "hop_lot"}


@pytest.mark.parametrize(("name", "given"), INPUTS)
def test_every_input_has_a_unit_ending_and_a_label_of_words(name, given):
    assert unit_of(name) is not None
    assert model_unit_of(name) is not None
    assert given.label
    assert given.label != name
    assert not given.label.endswith(".")


@pytest.mark.parametrize(("name", "given"), INPUTS)
def test_every_input_has_a_prior_or_is_set_by_the_recipe(name, given):
    """A recipe that states next to nothing must leave no input without a number."""
    statements = resolve(parse_recipe(starter_recipe()))
    priors = load_priors()
    lists = lists_of(statements)
    basis = Basis(statements, priors)
    stated = statements.planned(planned_of(basis, plan(basis))).said
    of_yeast = {
        quantity
        for kind in ("release", "character", "yeast")
        for item in priors.ingredients[kind].values()
        for quantity in item.tables
    }
    known = (
        name in lists.fixed,
        name in stated,
        priors.scalar(name) is not None,
        not given.axes and name in of_yeast,
        name == "hop_lot_stated_alpha_fraction",
    )

    assert any(known), f"nothing provides {name}"


def test_every_range_of_validity_belongs_to_a_formula_and_a_quantity_of_it():
    by_name = {formula.__name__: formula for formula in formulas_in(*MODULES)}
    for name, table in ranges_in(*MODULES).items():
        assert name in by_name
        own = {name, name.partition("__")[0], *inspect.signature(by_name[name]).parameters}
        assert set(table) <= own
        assert all(low < high for low, high in table.values())


@pytest.mark.parametrize(("name", "table"), ranges_in(*MODULES).items())
def test_the_range_that_is_watched_is_the_one_the_formula_states(name, table):
    """Nought is the end of what there is, and so is a whole; any other end must be stated."""
    (formula,) = (f for f in formulas_in(*MODULES) if f.__name__ == name)
    text = (inspect.getdoc(formula) or "").partition("\nValid:")[2].partition("\n\n")[0]
    stated = {float(n.replace(",", "")) for n in re.findall(r"(?<![\d.])-?\d[\d,]*\.?\d*", text)}
    for quantity, ends in table.items():
        whole_ends = {0.0, math.inf, 1.0 if quantity.endswith("_fraction") else 0.0}
        for end in set(ends) - whole_ends:
            ways = (end, 100 * end, end / 1000)
            assert any(math.isclose(way, number) for way in ways for number in stated), end


def test_no_stage_uses_a_word_of_another_for_the_same_quantity():
    """Inputs are declared once: the union over stages raises otherwise."""
    assert len(inputs_in(*MODULES)) == sum(len(inputs_in(module)) for module in MODULES)


@pytest.mark.parametrize(("bitterness", "lauter", "package", "alcohol"), VARIANTS)
def test_the_whole_beer_wires_up_in_every_variant(bitterness, lauter, package, alcohol):
    graph = whole(bitterness, lauter, package, alcohol)

    assert len(graph.nodes) > 150
    assert set(BY_QUANTITY) <= set(graph.nodes)


def test_every_quantity_of_the_beer_leads_to_a_figure_somebody_can_ask_for():
    """Nothing is computed for its own sake: each node reaches an end, and ends are few."""
    graphs = [whole(*choice) for choice in VARIANTS]
    needed = {need for graph in graphs for node in graph.nodes.values() for need in node.needs}
    ends = [name for name in whole().nodes if name not in needed]

    assert {name for graph in graphs for name in graph.inputs} <= needed
    assert len(ends) < 60
