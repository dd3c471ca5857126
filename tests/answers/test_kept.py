"""What advice keeps of a beer: no source and no side of its ratio below a quarter of today's."""

from pathlib import Path

import pytest

from brewsim.answers.fewest_moves import fewest_moves
from brewsim.answers.forecast import drawn_for, summary_of, today_of
from brewsim.answers.kept import kept
from brewsim.answers.ratio_sides import floors_of
from brewsim.beer.knob_limits import LEAST_KEPT, aroma_sources, stopped
from brewsim.beer.levers import unlisted_knobs
from brewsim.errors import InputError
from brewsim.logbook.pose import pose
from brewsim.recipe.read import parse_recipe
from brewsim.study.steering.fewest_knobs import is_worth_turning
from brewsim.study.steering.steering import steer

LAGER = Path(__file__).resolve().parents[2] / "demo-recipes" / "quillhaven-lager.toml"
YEAST = "yeast thiol_release"


def lager(*more):
    recipe = parse_recipe(LAGER.read_text(encoding="utf-8") + "\n".join(["", *more]))
    return recipe, pose(recipe)


def knobs_of(problem):
    return {knob.id: knob for knob in problem.knobs}


def test_a_yeast_that_frees_next_to_no_thiols_is_not_advised():
    recipe, problem = lager()
    found = kept(recipe, problem)

    assert [(one.knob, one.choice) for one in found.left_out] == [(YEAST, "ordinary")]
    assert found.left_out[0].outcome == "thiol_activity"
    assert 0.05 < found.left_out[0].share < LEAST_KEPT
    assert YEAST not in knobs_of(found.problem)


@pytest.mark.parametrize("asked", [(YEAST,), ()])
def test_it_is_advised_where_it_is_asked_for(asked):
    limits = () if asked else ("[limits]", f'"{YEAST}" = "ordinary, active"')
    recipe, problem = lager(*limits)
    found = kept(recipe, problem, asked)

    assert found.left_out == ()
    assert {c.label for c in knobs_of(found.problem)[YEAST].choices} == {"ordinary", "active"}


def test_without_a_ratio_to_aim_at_every_choice_may_be_advised():
    text = LAGER.read_text(encoding="utf-8").replace('thiol_lead = "-1 to 1"', "")
    recipe = parse_recipe(text)

    assert kept(recipe, pose(recipe)).left_out == ()


def test_sources_stop_at_a_quarter_and_a_limit_of_their_own_frees_them():
    recipe, problem = lager("[limits]", '"precursor 1 dose" = "at least 0 g/L"')
    may = knobs_of(kept(recipe, problem).problem)
    sources = aroma_sources(recipe, problem.knobs)

    assert sources == {"hop 1 mass", "hop 3 mass", "precursor 1 dose"}
    assert (may["hop 1 mass"].low, may["hop 3 mass"].low) == (10.0, 5.0)
    assert (may["precursor 1 dose"].low, may["hop 2 mass"].low) == (0.0, 0.0)
    assert stopped(recipe, problem, {"hop 1 mass": 10.0, "hop 3 mass": 6.0}) == ("hop 1 mass",)
    assert stopped(recipe, problem, {"precursor 1 dose": 0.1, "hop 2 mass": 0.5}) == ()


def test_levers_that_nobody_listed_stop_at_a_quarter_too():
    text = LAGER.read_text(encoding="utf-8")
    recipe = parse_recipe(text.replace('"hop 2 mass"          = "0 to 30 g in steps of 1 g"', ""))
    problem = pose(recipe)
    levers = {knob.id: knob for knob in unlisted_knobs(recipe, problem)}

    assert 4.0 <= levers["hop 2 mass"].low < 4.0 + 2 * levers["hop 2 mass"].step
    assert levers["hop 2 mass"].high == 32.0


def test_a_limit_that_excludes_today_is_refused():
    recipe, problem = lager("[limits]", '"precursor 1 dose" = "at most 1 g/L"')

    with pytest.raises(InputError, match=r"excludes 2\.5 g/L, where it stands now"):
        kept(recipe, problem)


@pytest.mark.slow
def test_no_setting_advised_for_the_lager_lets_a_source_go():
    recipe, problem = lager()
    may = kept(recipe, problem).problem
    found = fewest_moves(
        recipe,
        problem,
        may,
        today_of(problem, summary_of(drawn_for(problem))),
        steer(may, floors=floors_of(may)),
    )

    assert found.moves
    for move in found.moves:
        for source in aroma_sources(recipe, problem.knobs) & move.settings.keys():
            now = problem.fixed_at(
                knobs_of(problem)[source].quantity, knobs_of(problem)[source].row
            )
            assert move.settings[source] >= LEAST_KEPT * now - 1e-9
        assert is_worth_turning(move.gain)
        assert move.chance == pytest.approx(found.today.chance[0] + move.gain[0])


@pytest.mark.slow
def test_moves_come_with_the_figures_that_are_printed_of_today():
    recipe, problem = lager()
    summary = summary_of(drawn_for(problem))
    found = fewest_moves(
        recipe, problem, kept(recipe, problem).problem, today_of(problem, summary), steer(problem)
    )

    assert found.today.chance[0] == summary.attrs["joint_in_target"]
    for move in found.moves:
        for name in problem.targets:
            row = summary.sel(outcome=name)
            assert move.chances[name][0] == float(row["in_target"])
            assert move.medians[name][0] == float(row["median"])
