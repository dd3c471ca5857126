"""The page, the terminal and `steer` advise the same settings, with the same count of fifty."""

import html
import json
import re

import pytest

from tests.door import DEMOS, brewsim

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("learned_once")]
LAGER = DEMOS / "quillhaven-lager.toml"
ONE, SIX = (DEMOS / f"quillhaven-lager-{which}.toml" for which in ("batches", "six-batches"))


def shown(path):
    """Return what the page's Show buttons turn and the count told with it: [(settings, count)]."""
    text = path.read_text(encoding="utf-8")
    data = json.loads(re.search(r'id="surfaces">(.*?)</script>', text, re.DOTALL)[1])
    found = []
    for move in filter(None, data["moves"]):
        turned = {
            dial["id"]: dial["choices"][at] if dial["choices"] else dial["places"][at]
            for dial, at in zip(data["dials"], move["stands"], strict=True)
            if at != dial["start"]
        }
        found.append((turned, round(50 * move["told"][-1])))
    return found


def steered(folder, recipe, *more):
    done = brewsim("steer", recipe, *more, "--json", folder=folder)
    assert done.code == 0, done.err
    return json.loads(done.out)


def in_shown_units(recipe, settings):
    from brewsim.beer.pose import posed
    from brewsim.priors.library import load_priors
    from brewsim.recipe.read import read_recipe

    problem, _ = posed(read_recipe(recipe), load_priors())
    return {
        name: pytest.approx(problem.knob(name).as_shown(value))
        if not isinstance(value, str)
        else value
        for name, value in settings.items()
    }


def plain_moves(recipe, found):
    moves = [found["fewest"][part] for part in ("chosen", "nearest")]
    return [
        (in_shown_units(recipe, move["settings"]), round(50 * move["chance"]))
        for move in moves
        if move is not None
    ]


@pytest.mark.parametrize("name", ["lager", "bitter", "pale"])
def test_a_plan_advises_what_steer_does(shelf, tmp_path, name):
    told, path = shelf.report(name)
    recipe = DEMOS / f"quillhaven-{name}.toml"
    found = steered(tmp_path, recipe)["fewest"]
    moves = plain_moves(recipe, {"fewest": found})
    lines = " ".join(told.split())
    said = " ".join(brewsim("steer", recipe, folder=tmp_path).out.split())
    best = found["unlisted"] or found["chosen"]

    assert shown(path) == moves
    assert f"{round(50 * found['today']['chance'][0])} of 50 meet all" in lines
    if best is None:
        assert "Do: nothing is worth turning; " in lines
        assert "no knob of yours is worth turning" in said
    else:
        count = round(50 * best["chance"])
        assert f"{count} of 50 instead of" in lines
        assert re.search(rf"hen {count} \(± \d\) of 50", said)
    (worth,) = re.findall(r"With the best setting of one knob .* adds [\d.]+\.", said)
    assert worth in html.unescape(path.read_text(encoding="utf-8"))


def test_a_lever_that_nobody_listed_is_the_same_in_both(shelf, tmp_path):
    told, path = shelf.report("bitter")
    lever = steered(tmp_path, DEMOS / "quillhaven-bitter.toml")["fewest"]["unlisted"]
    (mass,) = lever["settings"].values()

    assert lever["settings"].keys() == {"malt 2 mass"}
    for text in (told, path.read_text(encoding="utf-8")):
        assert f"0.250 → {mass:.3f} kg" in " ".join(text.split())


def test_a_tasted_page_advises_what_steer_does(shelf, tmp_path):
    told, path = shelf.report("lager", ONE.name)
    found = steered(tmp_path, LAGER, "--batches", ONE)
    moves = [found[part] for part in ("chosen", "nearest") if found[part] is not None]

    assert shown(path) == [
        (in_shown_units(LAGER, move["settings"]), round(50 * move["all_met"][0])) for move in moves
    ]
    assert f"{round(50 * moves[0]['all_met'][0])} of 50 next brews get there" in " ".join(
        told.split()
    )


def test_a_page_with_a_log_advises_what_steer_does_with_the_house_of_it(shelf, tmp_path):
    _, path = shelf.report("lager", SIX.name)
    house = tmp_path / "house.toml"
    done = brewsim("learn", LAGER, SIX, "--house", house, folder=tmp_path)
    assert done.code == 0, done.err
    found = steered(tmp_path, LAGER, "--house", house)

    assert shown(path) == plain_moves(LAGER, found)
