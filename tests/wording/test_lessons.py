"""Brews that teach but are poor beers themselves are proposed only for want of others."""

from types import SimpleNamespace

from brewsim.study.steering.worth_next import Lesson, Trial
from brewsim.wording.lessons import lesson_sentences


def lesson(lands, gain, settings=()):
    return Lesson("pair", Trial(dict(settings)), 12, (lands, 0.02), 0.5, (gain, 0.01))


def told(*lessons):
    problem = SimpleNamespace(scales={"thiol_activity": "linear"})
    answer = SimpleNamespace(
        lessons=lessons,
        steering=SimpleNamespace(
            start="G1", chosen=SimpleNamespace(all_met=(0.6, 0.02), settings={"dose": 1.0})
        ),
        aims=SimpleNamespace(wishes={"thiols": None}),
        question=SimpleNamespace(problem=problem),
    )
    return [line for line in lesson_sentences(answer) if line.startswith("To learn")]


def test_a_poor_beer_is_not_brewed_to_learn_where_a_good_one_teaches_too(monkeypatch):
    monkeypatch.setattr("brewsim.wording.lessons._scatter", lambda _: iter(()))
    good, poor = lesson(0.6, 0.04, {"dose": 1.0}), lesson(0.1, 0.08)

    (line,) = told(poor, good)
    assert "brew what is chosen above" in line
    assert "That brew itself: 30 of 50." in line


def test_a_poor_beer_that_alone_teaches_is_told_with_what_it_costs(monkeypatch):
    monkeypatch.setattr("brewsim.wording.lessons._scatter", lambda _: iter(()))

    (line,) = told(lesson(0.1, 0.08))
    assert "brew it again as it was" in line
    assert "That brew itself: 5 of 50." in line


def test_what_adds_no_batch_beyond_its_error_is_not_told_as_worth_it(monkeypatch):
    monkeypatch.setattr("brewsim.wording.lessons._scatter", lambda _: iter(()))

    (line,) = told(lesson(0.6, 0.005))
    assert "It hardly pays" in line
