"""A batch on the page: how it differs from an ordinary one of its house, and what explains that."""

from types import SimpleNamespace

from brewsim.quantities.catalogue import Quantity
from brewsim.study.inference.attribution import Attribution, Share
from brewsim.wording.batches import attribution_sentences, batches_of

LOOKS = {"strength": Quantity("strength", "strength", "strength", "% ABV", 1)}


def share(factor, estimate, kind, returns=False):
    return Share(
        factor, f"error of the {factor}", "", kind, estimate, estimate, estimate, 1.0, returns
    )


def batch(reached, *shares):
    return Attribution("P1", "strength", "house", 5.1, reached, shares, ())


MASH, METER = share("mash", 0.1, "batch"), share("meter", -0.1, "instrument", returns=True)


def test_an_ordinary_batch_is_one_read_by_the_same_instrument():
    """5.1 really and an instrument that reads 0.1 low: an ordinary batch reads 5.0."""
    (told,) = attribution_sentences(batch(5.1, MASH, METER), LOOKS, 0.6)

    assert told == (
        "P1, strength: 5.1 instead of the 5.0 % ABV of an ordinary batch of this house. That is "
        "as expected. Error of the mash: most of it, +0.10 (+0.10 to +0.10)."
    )


def test_what_shows_as_equal_is_not_explained():
    same = batch(5.01, share("mash", 0.01, "batch"), METER)
    content = batches_of(SimpleNamespace(batches=(), surprises=(), remarks=()), [same], LOOKS)

    assert content.panel.sentences == (
        "P1, strength: 5.01 % ABV, as an ordinary batch of this house.",
    )
    assert content.panel.tables == ()


def test_the_table_of_causes_adds_up_to_the_difference_that_is_told():
    one = batch(5.1, MASH, METER)
    content = batches_of(SimpleNamespace(batches=(), surprises=(), remarks=()), [one], LOOKS)

    (table,) = content.panel.tables
    assert [(row[0], row[2]) for row in table.rows] == [("Error of the mash", "+0.10")]
