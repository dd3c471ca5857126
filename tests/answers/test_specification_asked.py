"""What `specify` asks of its studies beside the limits: which instruments, targets and readings."""

from types import SimpleNamespace

import numpy as np
import pytest

from brewsim.answers import kinds as scatter
from brewsim.answers import specification as module
from brewsim.answers.specification import (
    _asked_for,
    _conformity,
    _tightened,
    _verdict,
    measurements_of,
    within_reach,
    worths_of,
)
from brewsim.priors.instruments import Instrument
from brewsim.study.model.targets import Target

VALUES = {"a": np.array([0.5] * 9 + [5.0]), "b": np.array([0.5] * 5 + [5.0] * 5)}
TARGETS = {"a": Target(0.0, 1.0), "b": Target(0.0, 1.0)}


def problem(**more):
    fields = {"factors": (), "graph": {}, "targets": TARGETS, "units": {}} | more
    return SimpleNamespace(**fields)


def asked(*wants, chance=0.8):
    return SimpleNamespace(wants=[SimpleNamespace(quantity=name) for name in wants], chance=chance)


def test_what_is_asked_for_is_wanted_or_else_met_least_often():
    assert _asked_for(asked("x", "a", "x"), VALUES, problem()) == ["x", "a"]
    assert _asked_for(asked(), VALUES, problem()) == ["b"]
    assert _asked_for(asked(), {}, problem()) == []


@pytest.mark.parametrize(
    ("wants", "chance", "names"),
    [((), 0.8, ["b"]), ((), 0.5, []), (("a", "b"), 0.95, ["a", "b"]), (("a", "b"), 0.9, ["b"])],
)
def test_only_what_is_met_too_rarely_is_tightened(monkeypatch, wants, chance, names):
    heard = []
    monkeypatch.setattr(module, "tighten", lambda *given, **named: heard.append((given, named)))
    posed = problem()
    found = _tightened(posed, asked(*wants, chance=chance), VALUES, 7)

    assert list(found) == names
    told = {"chance": chance, "among": (), "pairs": 3, "draws": 8192, "seed": 7}
    assert heard == [((posed, name), told) for name in names]


def test_a_factor_is_within_reach_that_somebody_can_turn_or_measure():
    factors = [
        SimpleNamespace(id=f"{t}{m}", turnable=t, measurable=m) for t in (0, 1) for m in (0, 1)
    ]

    assert within_reach(problem(factors=factors)) == ("01", "10", "11")


@pytest.mark.parametrize("targets", [{}, TARGETS])
def test_measuring_is_worth_what_a_knob_does_afterwards(monkeypatch, targets):
    """Along nine places of a knob, where something is aimed at."""
    heard = []
    monkeypatch.setattr(module, "measurements_of", lambda *_given: "measurements")
    monkeypatch.setattr(module, "decisions_along", lambda _problem, points: f"{points} places")
    monkeypatch.setattr(module, "worth_of_measuring", lambda *g, **n: heard.append((g[1], n)))
    worths_of(problem(targets=targets), "priors", 7)

    decisions = "9 places" if targets else ()
    assert heard == [("measurements", {"decisions": decisions, "draws": 8192, "seed": 7})]


def test_the_best_instrument_for_the_middle_guards_a_target(monkeypatch):
    """A share of 1 % is 0.05 at a middle of 5, and better than 0.06; risks are those it leaves."""
    plain, share = Instrument("plain", "a", 0.06), Instrument("share", "a", 0.01, logged=True)
    monkeypatch.setattr(module, "instruments_for", lambda _p, q: [plain, share] if q == "a" else [])
    y = np.concatenate([np.random.default_rng(1).normal(5.0, 0.2, 4001), [np.nan]])
    (found,) = _conformity("priors", {"a": y, "b": y}, {"a": Target(4.8, 5.2), "b": Target(1.0)})
    assert _conformity("priors", {"a": np.full(3, np.nan)}, {"a": Target(4.8)}) == []

    assert (found.outcome, found.instrument) == ("a", share)
    assert found.uncertainty == pytest.approx(0.05, rel=0.01)
    low, high = found.accepted.ends
    assert (low - 4.8, 5.2 - high) == pytest.approx((1.645 * found.uncertainty,) * 2, rel=0.01)
    assert found.guarded != found.plain


def test_a_verdict_is_of_the_value_alone_and_with_what_was_expected():
    """At a limit half of the readings conform; expected draws all inside make it sure."""
    measured = SimpleNamespace(quantity="a", value=1.0, instrument=Instrument("i", "a", 0.1))
    drawn = {"a": SimpleNamespace(to_numpy=lambda: np.full(100, 0.9))}

    found = _verdict(measured, TARGETS, drawn)
    free = _verdict(measured, {}, drawn)

    assert (found.alone, found.together) == pytest.approx((0.5, 1.0), abs=1e-6)
    assert (found.uncertainty, found.target) == (0.1, TARGETS["a"])
    assert (free.alone, free.together) == pytest.approx((1.0, 1.0))


def test_what_could_be_measured_are_inputs_exactly_by_an_assay_and_readings_on_the_way(monkeypatch):
    exact = SimpleNamespace(label="alpha", quantity="alpha", factor="alpha | x")
    tools = {
        "alpha": [Instrument("assay", "alpha", 0.3, 0.4), Instrument("worse", "alpha", 1.0)],
        "preboil_gravity_sg": [
            Instrument("consumer hydrometer", "", 1.0),
            Instrument("bench meter", "", 1.0),
        ],
        "original_gravity_sg": [Instrument("checked hydrometer", "", 1.0)],
        "preboil_volume_l": [Instrument("volume mark", "", 0.02, logged=True)],
    }
    monkeypatch.setattr(module, "exact_measurements", lambda _problem: (exact,))
    monkeypatch.setattr(module, "instruments_for", lambda _priors, name: tools.get(name, []))
    monkeypatch.setattr(module, "label_in", lambda _problem: lambda name: name.upper())
    factors = [SimpleNamespace(quantity="original_gravity_sg")]
    graph = {"preboil_gravity_sg": 1, "preboil_volume_l": 1, "original_gravity_sg": 1}

    first, *others = measurements_of(problem(graph=graph, factors=factors), "priors")

    assert first is exact
    assert [(m.label, m.quantity, m.factor, m.uncertainty, m.logged) for m in others] == [
        ("alpha, by assay", "alpha", "alpha | x", 0.5, False),
        ("PREBOIL_GRAVITY_SG, by consumer hydrometer", "preboil_gravity_sg", "", 1.0, False),
        ("PREBOIL_VOLUME_L, by volume mark", "preboil_volume_l", "", 0.02, True),
    ]


def test_own_scatter_is_that_of_new_lots_and_of_the_same(monkeypatch):
    heard = []

    class Values(dict):
        def __getitem__(self, key):
            assert key == "outcome"
            return SimpleNamespace(to_numpy=lambda: np.array(["a", "b"]))

        def sel(self, outcome):
            return {"a": 1.0, "b": 2.0}[outcome] / (2 if self.same else 1)

    def spread(_problem, **named):
        heard.append(named)
        found = Values()
        found.same = named["same_lots"]
        return {"scatter": found}

    monkeypatch.setattr(scatter, "spread_by_kind", spread)
    rows = scatter.own_scatter("problem", 7)

    assert heard == [
        {"knowledge": 128, "batches": 128, "seed": 7, "same_lots": kept} for kept in (False, True)
    ]
    assert [(r.quantity, r.new_lots, r.same_lots) for r in rows] == [
        ("a", 1.0, 0.5),
        ("b", 2.0, 1.0),
    ]
