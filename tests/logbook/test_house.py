"""The house file: nothing lost, nothing learned twice, nothing used that does not fit."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import brewsim
from brewsim.distributions.constructors import lognormal, normal
from brewsim.logbook.brew import parse_batches, read_batches
from brewsim.logbook.house import (
    House,
    fingerprint,
    house_of,
    learn,
    load_house,
    with_house,
)
from brewsim.logbook.house_draws import draws_path
from brewsim.logbook.house_file import house_text
from brewsim.recipe.read import parse_recipe
from brewsim.study.inference.update import update

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("learned_once")]

DEMOS = Path(__file__).resolve().parents[2] / "demo-recipes"
LAGER = DEMOS / "quillhaven-lager.toml"
TEXT = LAGER.read_text(encoding="utf-8")


def small_log(*ids, value=24):
    text = "".join(
        f'[[batch]]\nid = "{i}"\ndate = 2026-03-0{n + 1}\n[batch.readings]\n'
        f'bitterness = "{value} IBU by lab bitterness"\n'
        for n, i in enumerate(ids)
    )
    return parse_batches(text, TEXT, "log.toml")


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    path = tmp_path_factory.mktemp("house") / "HOUSE.toml"
    learn(path, small_log("A", "B"))
    return path


def test_the_house_file_holds_batches_as_entered_and_reads_back(house):
    again = parse_batches(house.read_text(encoding="utf-8"), None, "HOUSE.toml")

    assert [e.id for e in again.entries] == ["A", "B"]
    assert str(again.entries[0].readings["bitterness"][0]) == "24 IBU by lab bitterness"
    assert list(again.recipes.values()) == [TEXT]


def test_the_demo_log_survives_being_written_down():
    log = read_batches(DEMOS / "quillhaven-lager-six-batches.toml", LAGER)

    text = house_text(log)

    assert house_text(parse_batches(text, None, "x.toml")) == text


def test_texts_with_quotes_and_backslashes_survive():
    recipe = TEXT.replace('name       = "Quillhaven lager"', "name = 'a \\\\ and ''")
    recipe = TEXT + "# it's a '''comment''' with \\ and \"quotes\"\n"
    log = parse_batches(
        '[[batch]]\nid = "a \\"b\\" \\\\"\ndate = 2026-03-01\nnotes = "two\\nlines"\n'
        '[batch.readings]\nbitterness = "22 IBU"\n',
        recipe,
    )

    again = parse_batches(house_text(log), None)

    assert again.entries[0].id == 'a "b" \\'
    assert again.entries[0].notes == "two\nlines"
    assert list(again.recipes.values()) == [recipe]


def test_a_batch_is_learned_once(house):
    before = house.read_bytes()

    kept, _ = learn(house, small_log("A", "B"))

    assert kept.batches == 2
    assert house.read_bytes() == before


def test_draws_are_kept_and_not_a_mean_and_covariance(house):
    found = load_house(house)

    assert all(len(draws) == 512 for draws in found.draws.values())
    assert sorted(np.unique(found.replicate)) == list(range(8))


def test_draws_are_computed_again_when_the_file_has_changed(tmp_path):
    path = tmp_path / "HOUSE.toml"
    learn(path, small_log("A"))
    first = load_house(path)
    path.write_text(path.read_text(encoding="utf-8").replace("24 IBU", "14 IBU"), encoding="utf-8")

    second = load_house(path)

    name = "lab bitterness @bias"
    assert second.draws[name].mean() < first.draws[name].mean()


def test_damaged_or_missing_draws_are_computed_again(tmp_path):
    path = tmp_path / "HOUSE.toml"
    learn(path, small_log("A"))
    draws_path(path).write_bytes(b"not draws")

    assert load_house(path).batches == 1

    draws_path(path).unlink()

    assert load_house(path).batches == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        ".HOUSE.toml.lock",
        "HOUSE.draws.npz",
        "HOUSE.journal",
        "HOUSE.toml",
    ]


@pytest.mark.parametrize("how", ["empty", "cut", "flipped", "no zip", "other names"])
def test_draws_damaged_in_any_way_are_made_anew(house, how):
    draws = draws_path(house)
    whole = draws.read_bytes()
    middle = len(whole) // 2
    damaged = {
        "empty": b"",
        "cut": whole[:100],
        "flipped": whole[:middle]
        + bytes(255 - b for b in whole[middle : middle + 64])
        + whole[middle + 64 :],
        "no zip": b"not draws",
        "other names": whole.replace(b"about.npy", b"abuot.npy"),
    }[how]
    assert damaged != whole
    draws.write_bytes(damaged)

    assert load_house(house).batches == 2
    assert draws.read_bytes() != damaged


def test_what_was_learned_narrows_the_next_forecast(house):
    recipe = brewsim.read_recipe(LAGER)
    before = brewsim.summarise(brewsim.simulate(brewsim.pose(recipe), draws=4096))
    after = brewsim.summarise(brewsim.simulate(brewsim.pose(recipe, house=house), draws=4096))

    spread = [
        float(s.sel(outcome="bitterness_ibu")["standard_uncertainty"]) for s in (before, after)
    ]
    assert spread[1] < 0.85 * spread[0]


def test_a_spread_stated_in_the_recipe_wins_and_is_named(house):
    problem = brewsim.pose(parse_recipe(TEXT))
    learned = load_house(house)
    factor = next(f for f in problem.factors if f"{f.id} @knowledge" in learned.draws)
    stated = replace(factor, distribution=normal(factor.distribution.median, 0.01))
    own = replace(
        problem, factors=tuple(stated if f.id == factor.id else f for f in problem.factors)
    )

    posed = with_house(own, learned)

    assert f"what the house learned about {factor.label} is not used here" in posed.learned.remarks
    assert f"{factor.id} @knowledge" not in posed.learned.draws


def test_a_quantity_that_has_gone_is_named(house):
    learned = load_house(house)
    gone = "forgotten_factor @knowledge"
    older = replace(
        learned,
        draws={**learned.draws, gone: np.zeros(512)},
        fingerprints={**learned.fingerprints, gone: "x"},
        labels={**learned.labels, gone: "something older"},
    )

    posed = with_house(brewsim.pose(parse_recipe(TEXT)), older)

    assert any("something older" in remark for remark in posed.learned.remarks)


def test_a_fold_means_the_same_around_another_value():
    problem = brewsim.pose(parse_recipe(TEXT))
    factor = problem.factor("evaporation_factor")
    wide = replace(factor, distribution=lognormal(1.0, 0.3))
    narrow = replace(factor, distribution=lognormal(1.0, 0.2))
    moved = replace(factor, distribution=lognormal(1.2, 0.2))

    assert fingerprint(moved) == fingerprint(narrow)
    assert fingerprint(wide) != fingerprint(narrow)


def test_what_a_kettle_s_mark_taught_holds_for_another_planned_volume():
    """More hops hold more wort, so more is planned; the mark is off by the same share."""
    more = TEXT.replace('mass    = "16 g"', 'mass    = "48 g"')
    assert more != TEXT
    factors = [brewsim.pose(parse_recipe(t)).factor("preboil_volume_l") for t in (TEXT, more)]
    surer = replace(factors[0], distribution=normal(25.0, 0.1))

    assert factors[0].distribution != factors[1].distribution
    assert fingerprint(factors[0]) == fingerprint(factors[1])
    assert fingerprint(surer) != fingerprint(factors[0])


def test_only_what_lasts_is_kept():
    log = small_log("A", "B")
    learned = update(log.batches[0].problem, log.batches, time_limit_s=0)

    kept = house_of(learned)

    assert isinstance(kept, House)
    assert not any("@batch" in name or "@lot of" in name for name in kept.draws)
    assert any("@lot Northern Brewer N24" in name for name in kept.draws)


def test_own_priors_are_those_a_house_is_read_with(tmp_path):
    """Other priors mean other draws: they are computed again and never mixed."""
    from brewsim.priors.library import load_priors

    own = tmp_path / "own.toml"
    own.write_text(
        '[taster_spread_factor]\nfamily = "constant"\nvalue = 3.0\nunit = ""\n'
        'kinds = { knowledge = 1.0 }\ngrade = "assumption"\nsource = "assumption"\n',
        encoding="utf-8",
    )
    path = tmp_path / "HOUSE.toml"
    learn(path, small_log("A"))
    before = draws_path(path).read_bytes()

    load_house(path)

    assert draws_path(path).read_bytes() == before

    load_house(path, load_priors(own))

    assert draws_path(path).read_bytes() != before
