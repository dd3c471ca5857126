"""Some rows of a list run again by themselves: the values of a whole run, in fewer rows."""

import numpy as np
import pytest

from brewsim.beer.pose import posed
from brewsim.dims import HopIndex, Input, PerBatch, PerHop, PerHopLot, pick
from brewsim.graph.build import build_graph
from brewsim.graph.evaluate import evaluate
from brewsim.graph.row_changes import RowRuns, RowsOf
from brewsim.graph.row_forms import row_form
from brewsim.recipe.read import parse_recipe
from tests.door import DEMOS

HOPS, LOTS = 40, 20
INPUTS = {
    "volume_l": Input((), "Volume"),
    "hop_mass_g": Input(("hop",), "Mass of a hop"),
    "hop_lot": Input(("hop",), "Lot of a hop"),
    "hop_lot_alpha_fraction": Input(("hop_lot",), "Alpha acids of a lot"),
}


def hop_alpha_g(hop_mass_g: PerHop, hop_lot_alpha_fraction: PerHopLot, hop_lot: HopIndex) -> PerHop:
    return hop_mass_g * pick(hop_lot_alpha_fraction, hop_lot)


def alpha_g_l(hop_alpha_g: PerHop, volume_l: PerBatch) -> PerBatch:
    return hop_alpha_g.sum(axis=0) / volume_l


def hop_crowded_share(hop_alpha_g: PerHop) -> PerHop:
    together = np.cumsum(hop_alpha_g, axis=0)
    return np.where(together < 1e6, 1.0, 0.5)


def crowded_alpha_g(hop_alpha_g: PerHop, hop_crowded_share: PerHop) -> PerBatch:
    return (hop_alpha_g * hop_crowded_share).sum(axis=0)


def alpha_root(hop_alpha_g: PerHop) -> PerBatch:
    return np.sqrt(hop_alpha_g.sum(axis=0))


GRAPH = build_graph(
    [hop_alpha_g, alpha_g_l, hop_crowded_share, crowded_alpha_g, alpha_root], INPUTS
)


def inputs(seed=1, samples=16):
    rng = np.random.default_rng(seed)
    return {
        "volume_l": rng.normal(20.0, 0.4, samples),
        "hop_mass_g": rng.normal(30.0, 5.0, (HOPS, samples)),
        "hop_lot": np.arange(HOPS, dtype=float)[:, None] // 2,
        "hop_lot_alpha_fraction": rng.normal(0.1, 0.01, (LOTS, samples)),
    }


def runs(asked=()):
    base = evaluate(GRAPH, inputs())
    return RowRuns(GRAPH, base, frozenset(asked)), base


@pytest.mark.parametrize("name", ["hop_mass_g", "hop_lot_alpha_fraction"])
def test_rows_that_change_give_what_a_whole_run_gives(name):
    again, base = runs(asked=["hop_alpha_g"])
    new = inputs()
    rows = np.array([3, 17])
    new[name][rows] = inputs(seed=9)[name][rows]

    found = again.again(GRAPH.nodes.values(), {}, {name: RowsOf(rows, new[name][rows])})

    for quantity, expected in evaluate(GRAPH, new).items():
        if quantity in ("hop_mass_g", "hop_lot_alpha_fraction"):
            continue  # not asked for: rows of inputs are not filled in
        assert found[quantity] == pytest.approx(expected, rel=1e-13), quantity
    assert base["alpha_g_l"] is not found["alpha_g_l"]


def test_a_row_costs_a_row():
    """One row of a formula of each, and of a sum over them."""
    again, _ = runs()
    rows = np.array([4])
    again.again(
        [GRAPH.nodes[n] for n in ("hop_alpha_g", "alpha_g_l")],
        {},
        {"hop_mass_g": RowsOf(rows, inputs(seed=3)["hop_mass_g"][rows])},
    )

    assert again.formula_rows == 2


def test_what_came_out_as_before_is_not_run_on():
    """The crowded share is 1 in every draw, before and after: it hands on no change."""
    again, base = runs()
    rows = np.array([4])
    found = again.again(
        GRAPH.nodes.values(), {}, {"hop_mass_g": RowsOf(rows, inputs(seed=3)["hop_mass_g"][rows])}
    )

    assert found["hop_crowded_share"] is base["hop_crowded_share"]
    assert (found["crowded_alpha_g"] != base["crowded_alpha_g"]).all()
    assert again.formula_rows == 3 + 2 * HOPS  # all rows of the crowded share and of the root


def test_most_rows_and_infinite_parts_run_whole():
    again, _ = runs()
    most = np.arange(HOPS - 1)
    for rows, values in (
        (most, inputs(seed=5)["hop_mass_g"][most]),
        (np.array([2]), np.full((1, 16), np.inf)),
    ):
        new = inputs()
        new["hop_mass_g"][rows] = values
        found = again.again(GRAPH.nodes.values(), {}, {"hop_mass_g": RowsOf(rows, values)})
        assert found["alpha_g_l"] == pytest.approx(evaluate(GRAPH, new)["alpha_g_l"], rel=1e-13)


@pytest.mark.parametrize(
    ("name", "form"),
    [
        ("hop_alpha_g", "each"),
        ("alpha_g_l", "added"),
        ("crowded_alpha_g", "added"),
        ("hop_crowded_share", None),
        ("alpha_root", None),
    ],
)
def test_a_formula_is_known_by_what_it_does_to_rows(name, form):
    found = row_form(GRAPH, GRAPH.nodes[name])

    assert (found and found.form) == form


def test_every_form_that_is_told_of_the_beer_holds_on_numbers():
    """Rows of random numbers, one of them changed: each row by itself, or parts that add up."""
    rng = np.random.default_rng(7)
    graph = posed(parse_recipe((DEMOS / "quillhaven-pale.toml").read_text("utf-8")))[0].graph
    known = 0
    for node in graph.nodes.values():
        form = row_form(graph, node)
        if form is None:
            continue
        known += 1
        given, changed = {}, {}
        for need in node.needs:
            own = graph.axes(need)
            first = rng.uniform(0.2, 0.8, (6, 5) if own else 5)
            if need in form.index:
                first = np.arange(6.0)[:, None]
            given[need] = first
            changed[need] = first.copy()
            if own and need not in form.index:
                changed[need][4] = rng.uniform(0.2, 0.8, 5)
        before, after = node.formula(*given.values()), node.formula(*changed.values())
        one = [v[4:5] if graph.axes(n) else v for n, v in changed.items()]
        old = [v[4:5] if graph.axes(n) else v for n, v in given.items()]
        for side in (one, old):
            for place, need in enumerate(node.needs):
                if need in form.index:
                    side[place] = np.zeros((1, 1))
        if form.form == "each":
            assert node.formula(*one)[0] == pytest.approx(after[4], rel=1e-12), node.name
            assert np.delete(after, 4, 0) == pytest.approx(np.delete(before, 4, 0)), node.name
        else:
            moved = before + (node.formula(*one) - node.formula(*old))
            assert moved == pytest.approx(after, rel=1e-9), node.name
    assert known > 30
