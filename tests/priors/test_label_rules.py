"""Label, name and duty rules: read with a source each, and counted as a person would count."""

import numpy as np
import pytest

import brewsim
from brewsim.errors import InputError
from brewsim.logbook.pose import pose
from brewsim.priors.label_rules import (
    above_label,
    best_label,
    label_chance,
    load_rules,
    places,
    rules_of,
    step_chances,
)
from brewsim.study.propagation.simulate import simulate


def test_every_rule_has_a_source_a_day_and_says_check_locally():
    rules = load_rules()

    assert {rule.check for rule in rules} == {"check locally"}
    assert all(rule.source and rule.seen.startswith("20") for rule in rules)
    assert places(rules) == ("EU", "UK", "US", "AU/NZ", "Canada", "Germany")


def test_tolerances_are_those_of_the_texts():
    """Reg. (EU) 1169/2011 Annex XII: 0.5 to 5.5 %, else 1.0; 27 CFR 7.65: 0.3; FSC 2.7.1: 0.3."""
    flat = np.full(8, 0.05)
    found = {
        (place, label): label_chance(flat, label, rules_of(place)).rule.tolerance
        for place, label in (("EU", 0.055), ("EU", 0.056), ("US", 0.05), ("NZ", 0.05))
    }

    assert list(found.values()) == pytest.approx([0.005, 0.01, 0.003, 0.003])


def test_a_limit_itself_is_inside_and_the_floor_holds_whatever_the_tolerance():
    """27 CFR 7.65: labelled 0.5 % or more, never below 0.5 %."""
    strength = np.array([0.047, 0.053, 0.0531, 0.0469])
    us = rules_of("US")

    assert label_chance(strength, 0.05, us, 2).off.value == 0.5
    weak = label_chance(np.array([0.0049, 0.0051]), 0.006, us, 2)
    assert (weak.below.value, weak.above.value) == (0.5, 0.0)


def test_canada_has_names_but_no_tolerance():
    """Food and Drug Regulations, names by strength: 4.0 is light beer, 4.1 is beer."""
    (rule,) = rules_of("Canada")
    strength = np.array([0.0404, 0.0406, 0.0414, 0.056])

    found = dict(step_chances(strength, rule, 2).chances)

    assert label_chance(strength, 0.041, (rule,)) is None
    assert {name: chance.value for name, chance in found.items()} == {
        "light beer": 0.25,
        "beer": 0.5,
        "strong beer": 0.25,
    }


def test_duty_drops_decimals():
    """HMRC: 4.19 counts as 4.1 and 7.59 as 7.5; BierStG section 2: 12.9 °P counts as 12."""
    uk = next(r for r in rules_of("UK") if r.kind == "duty step")
    (german,) = rules_of("Germany")

    assert step_chances(np.full(8, 0.0419), uk).likeliest == "4.1"
    assert step_chances(np.full(8, 0.0759), uk).likeliest == "7.5"
    assert step_chances(np.full(8, 0.041), uk).likeliest == "4.1"
    assert step_chances(np.full(8, 12.9), german).likeliest == "12"
    assert above_label(np.repeat([0.0419, 0.043], 4), 0.042, uk).value == 0.5


def test_the_best_label_is_found_by_trying_all():
    rng = np.random.default_rng(2)
    strength = 0.05 + 0.004 * rng.exponential(1.0, 40_000)
    us = rules_of("US")
    labels = np.round(np.arange(40, 70) * 0.001, 3)
    off = [np.mean(np.abs(strength - label) > 0.003) for label in labels]

    assert best_label(strength, us) == pytest.approx(labels[int(np.argmin(off))])


@pytest.mark.slow
@pytest.mark.parametrize("place", ["EU", "US", "AU/NZ"])
def test_label_chances_of_a_demo_agree_with_a_count_of_a_million_draws(place, strengths):
    """Within the two sampling errors of direct counting on 2**20 draws of the same beer."""
    few, many = strengths
    label = 0.042
    tolerance = {"EU": 0.005}.get(place, 0.003)
    exact = float(np.mean(np.abs(many - label) > tolerance))

    found = label_chance(few, label, rules_of(place))

    assert 0.005 < exact < 0.9
    assert abs(found.off.value - exact) < 2 * found.off.error + 4 * (exact / 2**20) ** 0.5
    assert found.off.value == pytest.approx(found.above.value + found.below.value)


@pytest.fixture(scope="module")
def strengths(demo_recipes):
    from dataclasses import replace

    problem = pose(brewsim.read_recipe(demo_recipes / "quillhaven-bitter.toml"))
    problem = replace(problem, outcomes=("alcohol_by_volume_fraction",), targets={})
    return [
        simulate(problem, draws=n, seed=s)["alcohol_by_volume_fraction"].to_numpy()
        for n, s in ((16_384, 1), (2**20, 77))
    ]


@pytest.fixture(scope="module")
def demo_recipes():
    from pathlib import Path

    return Path(__file__).resolve().parents[2] / "demo-recipes"


def test_a_place_without_rules_says_which_there_are():
    with pytest.raises(InputError, match="rules for 'Atlantis'") as caught:
        rules_of("Atlantis")

    assert "EU" in str(caught.value)


def test_faults_of_a_rule_file_come_together(tmp_path):
    path = tmp_path / "rules.toml"
    path.write_text('["x"]\nplace = "EU"\nkind = "wish"\ngrade = "sure"\n', encoding="utf-8")

    with pytest.raises(InputError) as caught:
        load_rules(path)

    assert len(caught.value.faults) >= 5


@pytest.mark.slow
def test_a_strength_of_any_width_has_its_label_at_once():
    """Ten million label steps lie in reach of strengths over eight orders of magnitude."""
    strength = np.exp(np.random.default_rng(1).normal(0.0, 3.0, 16_384))
    own = rules_of(places(load_rules())[0])

    found = best_label(strength, own)

    assert found is not None
    best = label_chance(strength, found, own)
    for other in (found - 0.001, found + 0.001, float(np.round(np.median(strength), 3))):
        judged = label_chance(strength, other, own)
        assert judged is None or best.off.value <= judged.off.value


def test_strengths_without_a_value_have_no_label():
    own = rules_of(places(load_rules())[0])

    assert best_label(np.full(64, np.nan), own) is None


def test_strengths_beyond_all_reason_take_no_longer():
    """Deviations of thirty powers of e: the labels of all of them would not fit any memory."""
    wide = np.exp(np.random.default_rng(3).normal(0.0, 30.0, 4096))

    assert 0.0 <= best_label(wide, rules_of(places(load_rules())[0])) <= 10.0
