"""Draws that had no value after a tasting are told where a span leaves them out."""

from types import SimpleNamespace

import pytest

from brewsim.wording.next_beer import left_out_sentences


@pytest.mark.parametrize(("helped", "count"), [(True, "1,200"), (False, "7")])
def test_an_outcome_without_a_value_in_some_draws_is_told(helped, count):
    """Of the move that is advised, and of the batch as it was where none helps."""
    steering = SimpleNamespace(
        start="G1",
        nearest="a move" if helped else None,
        chosen=SimpleNamespace(left_out={"bitterness_ibu": 1200}),
        unchanged=SimpleNamespace(left_out={"bitterness_ibu": 7}),
    )

    (told,) = left_out_sentences(SimpleNamespace(steering=steering))
    assert told == (
        f"Bitterness against G1 had no value in {count} draws: they count as not wished, and no "
        "span rests on them."
    )
    steering.chosen.left_out = steering.unchanged.left_out = {}
    assert list(left_out_sentences(SimpleNamespace(steering=steering))) == []
