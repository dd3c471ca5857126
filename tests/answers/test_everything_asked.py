"""Every study of a page is asked for what the page says of it, and told how far it is."""

from types import SimpleNamespace

import pytest

from brewsim.answers import everything as module
from brewsim.answers.prior_comparison import _changed
from brewsim.distributions.constructors import normal
from brewsim.study.model.problem import Problem

STUDIES = (
    "after_log", "pictured", "surfaces_of", "known_ratios", "floors_of", "steer", "spec_studies",
    "drawn_for", "summary_of", "rank", "spread_by_kind", "brew_card", "specify", "fifty_batches",
    "today_of", "fewest_moves", "spread_sources", "over_rating", "wish_dials",
)  # fmt: skip


def asked(monkeypatch, problem, *, worths=None, **options):
    """Run a page's studies with each of them only noting what it was asked; also the progress."""
    heard, told = {}, []

    def study(name):
        def run(*given, **named):
            heard.setdefault(name, []).append((given, named))
            return SimpleNamespace(name=name, worths=worths, budget="budget", targets={}, knobs=())

        return run

    for name in STUDIES:
        if hasattr(module, name):
            monkeypatch.setattr(module, name, study(name))
    if hasattr(module, "surfaces"):
        monkeypatch.setattr(module, "surfaces", study("surfaces"))
    may = SimpleNamespace(problem=problem, left_out=("gone",))
    monkeypatch.setattr(module, "kept", lambda *_given, **_named: may)
    found = module.everything(
        "recipe",
        problem,
        "priors",
        progress=lambda done, text: told.append((done, text)),
        **options,
    )
    return found, heard, told


def problem_of(*, targets=(), knobs=()):
    return SimpleNamespace(targets=dict.fromkeys(targets), knobs=knobs)


def test_a_page_draws_ranks_and_specifies_by_as_many_draws_as_it_says(monkeypatch):
    problem = problem_of(targets=("y",), knobs=("k",))
    found, heard, told = asked(monkeypatch, problem, seed=3)

    assert [named for _, named in heard["rank"]] == [
        {"base": 1024, "seed": 3, "by": "factor"},
        {"base": 1024, "seed": 3, "by": "group"},
        {"base": 1024, "seed": 3, "by": "kind"},
    ]
    assert heard["drawn_for"] == [((problem, 16_384, 3), {})]
    assert [named["draws"] for _, named in heard["spec_studies"]] == [16_384]
    assert heard["specify"] == [((problem,), {"draws": 16_384, "seed": 3})]
    assert all(named["seed"] == 3 for name in ("steer", "surfaces") for _, named in heard[name])
    assert found.chance == 0.8
    assert (found.before, found.wish, found.left_out) == (None, None, ("gone",))
    assert told == [
        (0.0, "simulating"),
        (0.15, "ranking what drives it"),
        (0.4, "own scatter"),
        (0.5, "the brew day"),
        (0.6, "limits"),
        (0.7, "all knobs at once"),
        (0.9, "what helps most"),
    ]


@pytest.mark.parametrize(
    ("targets", "knobs", "steered", "moved"),
    [((), (), 0, 0), (("y",), (), 0, 1), ((), ("k",), 0, 0), (("y",), ("k",), 1, 1)],
)
def test_only_what_has_targets_and_knobs_is_steered(monkeypatch, targets, knobs, steered, moved):
    found, heard, _ = asked(monkeypatch, problem_of(targets=targets, knobs=knobs))

    assert len(heard.get("steer", [])) == steered
    assert len(heard.get("fewest_moves", [])) == moved
    assert (found.steered is None, found.moves is None) == (not steered, not moved)


def test_with_a_log_the_recipe_is_drawn_before_it_too(monkeypatch):
    problem = problem_of()
    found, heard, _ = asked(monkeypatch, problem, log="log", tasted="tasted")

    first, second = (given[0] for given, _ in heard["drawn_for"])
    assert (first.name, second) == ("after_log", problem)
    assert heard["wish_dials"] == [(("tasted", problem), {"seed": 1})]
    assert found.before is not None


def test_what_exact_knowledge_takes_away_is_that_of_exact_measurements(monkeypatch):
    def worth(factor, uncertainty, explained):
        measurement = SimpleNamespace(factor=factor, uncertainty=uncertainty)
        return SimpleNamespace(measurement=measurement, explained=explained)

    worths = SimpleNamespace(
        found=[worth("a", 0, {"y": 0.5}), worth("b", 0.1, {"y": 0.4}), worth("", 0, {"y": 0.3})]
    )
    known, heard, _ = asked(monkeypatch, problem_of(), worths=worths)
    assert known.removable == {"a": {"y": 0.5}}
    assert heard["spread_sources"][0][0][2] == {"a": {"y": 0.5}}
    unknown, heard, _ = asked(monkeypatch, problem_of())
    assert unknown.removable == {}
    assert heard["spread_sources"][0][0][2] is None


def total(a, b):
    return a + b


def changed(first, second):
    return _changed(*(Problem.of([total], law, fixed=fixed) for law, fixed in (first, second)))


def test_inputs_that_differ_between_two_sets_of_priors_are_named_once():
    one, wide, other = normal(1, 0.1), normal(1, 0.2), normal(2, 0.1)

    assert changed(({"a": one, "b": one}, {}), ({"a": one, "b": one}, {})) == ()
    assert changed(({"a": one, "b": one}, {}), ({"a": wide, "b": other}, {})) == ("a", "b")
    assert changed(({"a": one}, {"b": 1.0}), ({"a": one}, {"b": 1.0})) == ()
    assert changed(({"a": one}, {"b": 1.0}), ({"a": one}, {"b": 2.0})) == ("b",)


def test_an_input_that_only_became_idle_at_its_median_is_the_same():
    one = normal(1, 0.1)

    assert changed(({"a": one, "b": one}, {}), ({"a": one}, {"b": 1.0})) == ()
    assert changed(({"a": one}, {"b": 1.0}), ({"a": one, "b": one}, {})) == ()
    assert changed(({"a": one, "b": one}, {}), ({"a": one}, {"b": 2.0})) == ("b",)
    assert changed(({"a": one}, {"b": 2.0}), ({"a": one, "b": one}, {})) == ("b",)
