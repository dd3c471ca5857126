"""What of a house is learned from, kept and carried over: small houses made by hand."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import InputError, StudyError
from brewsim.logbook import house_draws, house_log
from brewsim.logbook.house import House, _gone, fingerprint, house_of, with_house
from brewsim.logbook.house_check import checked_house
from brewsim.logbook.house_draws import digest_of, keep_draws, kept_draws
from brewsim.logbook.house_log import LATEST, latest, latest_learned
from brewsim.logbook.journal import keep, state_to_restore, states
from brewsim.priors.library import load_priors
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.scatter import EVERYTHING
from tests.texts import beer

CHECK = Reading("y", 1.0, 0.1, known=1.1)
READ = Reading("y", 1.0, 0.1)


def batches(count, *, readings=(READ,)):
    return tuple(Batch(f"B{n}", None, readings) for n in range(count))


def test_all_are_learned_from_up_to_forty_eight():
    assert LATEST == 48
    assert latest(batches(48)) == batches(48)
    assert latest(batches(50)) == batches(50)[2:]


def test_calibrations_of_older_batches_go_with_the_first_that_is_left():
    old = replace(batches(1)[0], readings=(READ, CHECK))
    found = latest((old, *batches(49)[1:]))

    assert [b.id for b in found] == [f"B{n}" for n in range(1, 49)]
    assert found[0].readings == (READ, CHECK)
    assert all(b.readings == (READ,) for b in found[1:])


def test_answers_stay_whose_cups_are_all_among_the_latest():
    def answer(*ids):
        return SimpleNamespace(cups=tuple((name, "y") for name in ids))

    whole, torn = answer("B1", "B48"), answer("B0", "B48")
    log = (*batches(48), Batch("B48", None, (READ,), answers=(whole, torn)))

    assert latest(log)[-1].answers == (whole,)


def learned_with(monkeypatch, count, **asked):
    heard = {}

    def learn(problem, given, **named):
        heard.update(named, problem=problem, count=len(given))
        return "learned"

    monkeypatch.setattr(house_log, "learned_from", learn)
    log = SimpleNamespace(batches=batches(count), remarks=("said",))
    options = {"seed": 3, "time_limit_s": None, "progress": None, "outliers": True} | asked
    found = latest_learned(
        log, options["seed"], options["time_limit_s"], options["progress"], outliers=True
    )
    return found, heard


def test_what_is_learned_from_is_told_where_it_is_not_all(monkeypatch):
    (_, few), heard = learned_with(monkeypatch, 48, time_limit_s=7.0)
    (_, many), _ = learned_with(monkeypatch, 49)

    assert few == ("said",)
    assert many == ("said", "learned from the latest 48 of 49 batches")
    assert (heard["count"], heard["time_limit_s"], heard["seed"], heard["outliers"]) == (
        48,
        7,
        3,
        True,
    )


def test_batches_without_a_reading_teach_nothing():
    log = SimpleNamespace(batches=batches(2, readings=()), remarks=())

    with pytest.raises(StudyError, match="hold no reading to learn from"):
        latest_learned(log, 1, None, None, outliers=False)


def factor(law, kinds=None, **more):
    return Factor("a", "a", 0, "A", law, kinds or Kinds(1.0, 0, 0), **more)


def test_a_fingerprint_is_a_fold_or_a_share_or_the_whole_law():
    kinds = str(Kinds(1.0, 0, 0))

    assert fingerprint(factor(lognormal(2.0, 0.3))) == f"lognormal fold 0.3 {kinds}"
    assert fingerprint(factor(normal(10.0, 2.0))) == f"normal share 0.2 {kinds}"
    assert fingerprint(factor(normal(0.0, 2.0))) == f"{normal(0.0, 2.0).fingerprint} {kinds}"
    assert fingerprint(factor(normal(0.0, 2.0))) != fingerprint(factor(normal(0.0, 3.0)))


def y(a, b):
    return a + b


def problem_of(a=None, kinds=None):
    problem = Problem.of([y], {"a": a or normal(10.0, 2.0), "b": normal(1.0, 0.1)})
    return replace(
        problem,
        factors=tuple(
            replace(f, kinds=kinds or Kinds(0.5, 0.25, 0.25), lot="L1") for f in problem.factors
        ),
    )


def house(draws, prints=None, **more):
    scores = {name: np.zeros(4) for name in draws}
    told = {name: (prints or {}).get(name, "") for name in draws}
    fields = {"batches": 1, "precision": 0.0, "trusted": True} | more
    return House(scores, np.zeros(4), told, {name: f"the {name}" for name in draws}, **fields)


def test_knowledge_lots_scatter_and_biases_are_carried_over_and_brews_are_not():
    problem = problem_of()
    batch = Batch("B1", problem, (READ,))
    names = [
        *("a @knowledge", "a @lot L1", "a @batch B1", "a @scatter"),
        *(EVERYTHING, "spindle @bias", "b @knowledge"),
    ]
    learned = SimpleNamespace(
        batches=(batch,),
        draws={name: np.zeros(4) for name in names},
        replicate=np.zeros(4),
        precision=0.01,
        trusted=True,
        remarks=("one",),
    )
    found = house_of(learned, "h.toml", ("two",))

    assert "a @batch B1" not in found.draws
    assert {"a @knowledge", EVERYTHING, "spindle @bias", "b @knowledge"} <= set(found.draws)
    assert found.labels["spindle @bias"] == "error of spindle"
    assert found.fingerprints["spindle @bias"] == "bias"
    assert found.labels[EVERYTHING] == "scatter from batch to batch"
    assert (found.batches, found.path, found.remarks) == (1, "h.toml", ("two", "one"))


def test_what_was_learned_of_another_spread_is_not_used_and_told():
    problem = problem_of()
    prints = {"a @knowledge": fingerprint(problem.factors[0]), "b @knowledge": "other"}
    found = with_house(problem, house(["a @knowledge", "b @knowledge", EVERYTHING], prints)).learned

    assert set(found.draws) == {"a @knowledge", EVERYTHING}
    assert found.remarks == ("what the house learned about b is not used here",)
    doubtful = with_house(problem, house([], trusted=False)).learned
    assert doubtful.remarks == ("what the house learned is not to be trusted; see `brewsim learn`",)


def test_what_the_model_has_no_more_is_named_and_nothing_else():
    names = ["a @lot X", "gone @knowledge", "lost | x @lot y", "spindle @bias", "seen @knowledge"]
    told = _gone(problem_of(), house(names), {"seen @knowledge"})

    assert [line.partition("),")[0] for line in told] == [
        "the house learned about the gone @knowledge (gone",
        "the house learned about the lost | x @lot y (lost",
    ]


def test_draws_are_read_back_where_they_are_of_these_batches(tmp_path):
    file, about = tmp_path / "h.draws.npz", {"names": ["a"], "outliers": True}
    draws, replicate = np.ones((1, 3)), np.arange(3)

    assert keep_draws(file, "d", about, draws, replicate) == ""
    told, kept, parts = kept_draws(file, "d")
    assert (told["names"], told["digest"], kept.shape, parts.tolist()) == (
        ["a"],
        "d",
        (1, 3),
        [0, 1, 2],
    )
    assert kept_draws(file, "other") is None
    assert kept_draws(tmp_path / "none", "d") is None
    keep_draws(file, "d", {"names": []}, np.zeros((0, 0)), replicate)
    assert kept_draws(file, "d")[1].shape == (0, 0)
    for shape in ((2, 3), (1, 4)):
        keep_draws(file, "d", about, np.ones(shape), replicate)
        assert kept_draws(file, "d") is None


def test_why_draws_could_not_be_kept_is_told(tmp_path, monkeypatch):
    kept = ({"names": []}, np.zeros((0, 0)), np.zeros(1))

    def full(_file, _content):
        raise OSError("too full")

    assert keep_draws(tmp_path / "no" / "x.npz", "d", *kept) == "No such file or directory"
    monkeypatch.setattr(house_draws, "write_whole", full)
    assert keep_draws(tmp_path / "x.npz", "d", *kept) == "too full"


def test_a_digest_is_of_the_text_and_of_the_priors():
    priors = load_priors()

    assert digest_of("a", priors) == digest_of("a", priors)
    assert digest_of("a", priors) != digest_of("b", priors)
    assert len(digest_of("a", priors)) == 64


def test_ten_states_are_kept_numbered_and_the_same_is_kept_once(tmp_path):
    home = tmp_path / "h.toml"
    for number in range(1, 13):
        keep(home, f"{number}".encode())
        keep(home, f"{number}".encode())
    (tmp_path / "h.journal" / "note.txt").write_text("mine")

    found = states(home)
    assert [state.number for state in found] == list(range(12, 2, -1))
    assert found[0].content == b"12"
    assert found[0].file.name == "000012.toml"
    assert states(tmp_path / "other.toml") == ()


def test_the_newest_state_that_differs_is_restored_or_the_one_that_is_named(tmp_path):
    home = tmp_path / "h.toml"
    with pytest.raises(InputError, match="there is no state in"):
        state_to_restore(home)
    for text in ("one", "two", "three"):
        keep(home, text.encode())

    assert state_to_restore(home).content == b"three"
    home.write_text("three")
    assert state_to_restore(home).content == b"two"
    assert state_to_restore(home, 1).content == b"one"
    with pytest.raises(InputError, match="the journal has no state 4; it has 3, 2, 1"):
        state_to_restore(home, 4)
    other = tmp_path / "o.toml"
    other.write_text("x")
    keep(other, b"x")
    with pytest.raises(InputError, match="is the only state that the journal has"):
        state_to_restore(other)


def test_a_check_counts_readings_and_places_and_says_whether_the_draws_fit(tmp_path):
    text = "".join(
        f'[[batch]]\nid = "{n}"\ndate = 2026-01-0{n}\nrecipe = "k"\ntank = "T{n % 2}"\n'
        '[batch.readings]\nOG = ["1.045", "1.046"]\nFG = "1.01"\n'
        for n in (1, 2, 3)
    )
    home, priors = tmp_path / "h.toml", load_priors()
    home.write_text(f"{text}[[recipe]]\nkey = 'k'\ntext = '''\n{beer()}'''\n", encoding="utf-8")
    found = checked_house(home, priors)

    assert (found.readings, found.tags) == (9, {"tank": {"T0": 1, "T1": 2}})
    assert found.span == ("2026-01-01", "2026-01-03")
    assert (found.draws, found.states) == ("are missing", ())
    draws = home.with_suffix(".draws.npz")
    keep_draws(draws, "old", {"names": []}, np.zeros((0, 0)), np.zeros(1))
    assert checked_house(home, priors).draws == "do not fit"
    keep_draws(
        draws,
        digest_of(home.read_text("utf-8"), priors),
        {"names": []},
        np.zeros((0, 0)),
        np.zeros(1),
    )
    assert checked_house(home, priors).draws == "fit"
