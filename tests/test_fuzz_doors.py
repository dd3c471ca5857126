"""A fixed sample of edge inputs through every door; `python -m tests.fuzz_doors N` goes on."""

import pytest

from tests.fuzz_doors.doors import PLAIN, Case
from tests.fuzz_doors.run import DOORS, made, run, tried
from tests.fuzz_doors.values import recipe_keys

pytestmark = pytest.mark.slow


def test_the_generator_knows_every_key_of_a_recipe():
    known = {(key.table, key.name) for key in recipe_keys()}

    assert {("", "volume"), ("hop", "alpha"), ("package", "storage"), ("yeast", "krausen")} <= known
    assert len(known) > 45


@pytest.mark.parametrize("door", sorted(DOORS))
def test_edge_inputs_are_refused_in_words_or_give_finite_figures(door):
    counts, findings, _longest = run(12, seed=7, door=door)

    assert findings == {}
    assert counts[door, "refused"] > 0


def test_an_input_is_the_same_every_time():
    assert made(7, seed=1) == made(7, seed=1)
    assert made(7, seed=1) != made(8, seed=1)


def test_a_fault_of_ours_is_a_finding(monkeypatch):
    from brewsim.beer import pose

    def broken(*_args, **_more):
        raise KeyError("malt")

    monkeypatch.setattr(pose, "posed", broken)
    case = Case("recipe", {"r.toml": PLAIN}, (["check", "r.toml"],))
    told = [fault for *_, fault, _seconds in tried(case)]

    assert [fault.endswith("KeyError: 'malt'") for fault in told] == [True]
