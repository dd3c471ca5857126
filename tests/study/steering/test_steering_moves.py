"""Steering, move by move: what a knob alone can do, the least that suffices, what is said."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.steering.steering import Move, _fresh_remark, steer
from tests.study.linear import DIAL, LEVER, linear_problem, strength

KNOWN = (normal(0, 1), Kinds(1, 0, 0))
BREW = (normal(0, 2), Kinds(0, 0, 1))
SD = np.sqrt(5.0)


def lifted(known, scatter, dial, lever):
    return known + scatter + dial + 0.5 * lever


def doubled(idle):
    return 2.0 * idle


def lifting(*knobs, lower=0.0):
    """Return a problem that lands above a limit: Phi((dial + lever / 2 - limit) / sqrt(5))."""
    return Problem.of(
        [lifted],
        {"known": KNOWN, "scatter": BREW},
        fixed={"dial": 0.0, "lever": 0.0},
        targets={"lifted": Target(lower, None)},
        knobs=knobs,
    )


def test_one_knob_alone_moves_no_farther_than_it_must():
    """Four in five land from a dial of 0.8416 sqrt(5) on; the search keeps a hundredth more."""
    found = steer(lifting(DIAL), chance=0.8)
    (single,) = found.singles

    step = 12 / 32
    least = ndtri(0.81) * SD
    assert single.reaches
    assert least - 0.1 < single.move.settings["dial"] < least + step
    assert single.move.chance == pytest.approx(0.82, abs=0.025)
    assert (single.bracket.low, single.bracket.high) == pytest.approx(
        (ndtri(0.8) * SD, 10.0), abs=0.12
    )
    assert single.bracket.low < single.move.settings["dial"]


def test_knobs_that_change_no_target_stay_where_they_are():
    """Nothing depends on `idle`; the wanted chance is out of reach, so the best is told."""
    idle = Knob("idle", "an idle dial", "idle", None, 0.0, 10.0)
    made = Problem.of(
        [lifted, doubled],
        {"known": KNOWN, "scatter": BREW},
        fixed={"dial": 0.0, "lever": 0.0, "idle": 3.3},
        targets={"lifted": Target(0.0, 1.0)},
        knobs=(DIAL, idle),
    )
    found = steer(made, chance=0.9)
    (alone,) = [single for single in found.singles if single.knob == "idle"]

    assert not found.reaches
    assert found.best.settings["idle"] == 3.3
    assert found.best.settings["dial"] == pytest.approx(0.5, abs=0.6)
    assert (alone.move.settings["idle"], alone.move.change) == (3.3, 0.0)


def test_a_choice_that_pays_once_the_dial_follows_is_found():
    """With the dial at 0 the other kind is worse; at 8 it is nearly sure, the first never is."""

    def made(kind):
        return Choice(kind, distributions={"known": normal({"a": 0.0, "b": -8.0}[kind], 0.1)})

    problem = Problem.of(
        [lifted],
        {"known": (normal(0, 3), Kinds(1, 0, 0)), "scatter": (normal(0, 0.1), Kinds(0, 0, 1))},
        fixed={"dial": 0.0, "lever": 0.0},
        targets={"lifted": Target(-0.5, 0.5)},
        knobs=(DIAL, Knob("kind", "the kind", choices=(made("a"), made("b")), current="a")),
    )
    wider = replace(problem.knob("kind").choices[0], distributions={"known": normal(0, 3)})
    kind = replace(problem.knob("kind"), choices=(wider, made("b")))
    found = steer(replace(problem, knobs=(DIAL, kind)), chance=0.95)

    assert found.best.chance > 0.95
    assert found.best.settings["kind"] == "b"
    assert found.best.settings["dial"] == pytest.approx(8.0, abs=0.3)


def test_all_knobs_together_do_no_worse_than_one_of_them(monkeypatch):
    """Whatever the joint search brings, a better single knob is told in its place."""
    problem = lifting(DIAL, LEVER, lower=12.0)
    monkeypatch.setattr("brewsim.study.steering.steering.best_settings", lambda *_: {"dial": 1.0})

    found = steer(problem, chance=0.9)

    assert found.best.settings == {"dial": 10.0, "lever": problem.fixed_at("lever")}
    assert found.best.chance == max(single.move.chance for single in found.singles)


def test_a_knob_named_twice_is_one():
    found = steer(lifting(DIAL), knobs=["dial", "dial"], chance=0.8)

    assert [single.knob for single in found.singles] == ["dial"]


def test_where_fresh_draws_do_not_agree_no_stretch_is_told():
    """The search saw the chance, the fresh draws did not: nothing is promised there."""
    for chance in np.linspace(0.40, 0.50, 6):
        for single in steer(lifting(DIAL, lower=11.0), chance=float(chance)).singles:
            assert single.reaches or single.bracket is None


def test_the_smallest_change_is_where_the_wanted_chance_is_just_reached():
    found = steer(lifting(DIAL), chance=0.8)

    assert found.smallest.settings["dial"] == pytest.approx(ndtri(0.81) * SD, abs=0.12)
    assert found.smallest.change == pytest.approx(found.smallest.settings["dial"] / 12)
    assert found.smallest.chance == pytest.approx(0.81, abs=0.01)
    assert found.reaches
    assert found.wanted == 0.8


def test_a_wish_that_is_met_today_needs_no_change():
    found = steer(lifting(DIAL, LEVER, lower=-4.0), chance=0.8)

    assert found.smallest.change == 0.0
    assert all(single.reaches and single.move.change == 0.0 for single in found.singles)
    assert found.now.chance == pytest.approx(0.9632, abs=0.005)


def test_a_knob_that_need_not_move_is_put_back():
    """The dial lifts by 12 over its range, the lever by 10 over its own: the dial is enough."""
    found = steer(lifting(DIAL, LEVER), chance=0.8)

    assert found.smallest.settings.get("lever", 0.0) == 0.0
    assert found.smallest.settings["dial"] == pytest.approx(ndtri(0.81) * SD, abs=0.2)


def test_knobs_that_reach_the_wish_stand_before_those_that_do_not():
    """The lever lifts by at most 5, the short dial by 1: only the first reaches four in five."""
    short = replace(DIAL, high=1.0)

    found = steer(lifting(short, LEVER), chance=0.8)

    assert [(s.knob, s.label, s.reaches) for s in found.singles] == [
        ("lever", "the lever", True),
        ("dial", "the dial", False),
    ]
    assert found.singles[1].move.settings == {"dial": 1.0}
    assert found.singles[1].bracket is None


def test_of_knobs_that_do_not_reach_it_the_better_one_stands_first():
    """At its best the dial adds 1 and the lever, halved, 1.5."""
    found = steer(lifting(replace(DIAL, high=1.0), replace(LEVER, high=3.0)), chance=0.95)

    assert [s.knob for s in found.singles] == ["lever", "dial"]
    assert not found.reaches
    assert found.best.settings == pytest.approx({"dial": 1.0, "lever": 3.0})


def test_the_chance_at_the_likeliest_truth_leaves_the_scatter_of_the_brew():
    """With what is not known at its middle the deviation is 2 and not sqrt(5)."""
    now = steer(lifting(DIAL, lower=-2.0), chance=0.5).now

    assert now.most_likely_truth == pytest.approx(0.8413, abs=0.005)
    assert now.chance == pytest.approx(0.8144, abs=0.005)


def kinds(*labels, current=""):
    """Return a choice that moves the middle of what is known to as many units as it says."""
    options = tuple(Choice(t, distributions={"known": normal(float(t), 1)}) for t in labels)
    return Knob("kind", "the kind", choices=options, current=current)


def test_with_choices_alone_the_smallest_change_stays_with_todays_if_it_suffices():
    stays = steer(lifting(kinds("3", "9", current="3")), chance=0.8)
    goes = steer(lifting(kinds("0", "3", "9", current="0")), chance=0.8)

    assert (stays.smallest.settings, stays.smallest.change) == ({"kind": "3"}, 0.0)
    assert stays.best.settings == {"kind": "9"}
    assert (goes.smallest.settings, goes.smallest.change) == ({"kind": "9"}, 1.0)
    assert stays.singles[0].bracket is None


def test_of_two_changes_as_small_the_one_that_lands_more_is_told():
    """Either choice alone lands four in five or more: by 3 of 2.24, or by 9."""
    other = Knob(
        "other",
        "the other",
        choices=(Choice("as it is"), Choice("much", distributions={"scatter": normal(9.0, 2)})),
    )

    found = steer(lifting(kinds("0", "3", current="0"), other), chance=0.8)

    assert (found.smallest.settings, found.smallest.change) == ({"other": "much"}, 1.0)
    assert found.best.settings == {"kind": "3", "other": "much"}
    assert found.best.change == 2.0


def test_a_dial_is_moved_rather_than_another_choice_made_where_it_is_less():
    """Another kind counts as one whole range; the dial needs a sixth of its own."""
    found = steer(lifting(kinds("0", "3", current="0"), DIAL), chance=0.8)

    assert found.smallest.settings["kind"] == "0"
    assert found.smallest.settings["dial"] == pytest.approx(ndtri(0.81) * SD, abs=0.2)
    assert found.smallest.change < 0.2


def test_steps_hold_for_the_smallest_change_too():
    """In halves from -2 on, 2.0 is the first setting at or above 1.963."""
    found = steer(lifting(replace(DIAL, step=0.5)), chance=0.8)

    assert found.smallest.settings == {"dial": 2.0}


def test_only_the_knobs_named_are_turned():
    found = steer(lifting(DIAL, LEVER), knobs=["lever"], chance=0.5)

    assert [s.knob for s in found.singles] == ["lever"]
    assert found.best.settings.keys() == {"lever"}


def test_without_a_knob_there_is_nothing_to_steer_with():
    with pytest.raises(StudyError, match="no knobs"):
        steer(lifting())
    with pytest.raises(StudyError, match="no knobs"):
        steer(lifting(DIAL), knobs=[])


def test_progress_only_ever_rises_and_names_each_knob():
    heard = []

    steer(linear_problem(), chance=0.5, progress=lambda share, text: heard.append((share, text)))

    shares = [share for share, _ in heard]
    assert shares == sorted(shares)
    assert 0.0 <= min(shares) < max(shares) <= 1.0
    assert [text for _, text in heard[:2]] == ["the dial alone", "the lever alone"]
    assert heard[-1] == (0.95, "what stands in the way")


@pytest.mark.parametrize(
    ("searched", "told"),
    [
        (0.823, "saw 1.1 of 50 more"),
        (0.79, "saw 0.5 of 50 less"),
        (0.8004, "saw the same"),
        (0.7996, "saw the same"),
    ],
)
def test_it_is_told_how_much_more_the_search_saw_than_fresh_draws(searched, told):
    remark = _fresh_remark(Move({}, 0.8, 0.012, searched, 0.734, 0.0))

    assert told in remark
    assert "sampling error 0.6 of 50" in remark
    assert "37 of 50 would land" in remark


@pytest.mark.parametrize(
    ("searched", "doubtful"), [(0.8, False), (0.831, False), (0.833, True), (0.7, False)]
)
def test_a_search_is_doubted_that_saw_a_batch_in_fifty_more_than_fresh_draws(searched, doubtful):
    assert Move({}, 0.8, 0.012, searched, 0.734, 0.0).doubtful is doubtful


def test_the_error_of_a_chance_is_that_of_its_fresh_draws():
    """2^15 draws: a plain sample of that size errs by 2.36 sqrt(p q / n) = 0.006 at most."""
    move = steer(lifting(DIAL), chance=0.5).now

    assert 0.0 < move.chance_error < 2.3646 * 0.5 / np.sqrt(2**15)
    assert move.chance == pytest.approx(0.5, abs=4 * move.chance_error / 2.3646)


def test_an_unwanted_strength_is_steered_away_from_on_both_sides():
    """One dial, a window 4 wide around 6: the best is its middle, from either side."""
    for now in (-2.0, 10.0):
        problem = Problem.of(
            [strength],
            {"known": KNOWN, "scatter": BREW},
            fixed={"dial": now},
            targets={"strength": Target(4.0, 8.0)},
            knobs=(DIAL,),
        )

        found = steer(problem, chance=0.5)

        assert found.best.settings["dial"] == pytest.approx(6.0, abs=0.25)
        assert abs(found.smallest.settings["dial"] - now) < abs(6.0 - now)
