"""A batch on the page: how it differs from an ordinary one of its house, and what explains that."""

from dataclasses import replace
from types import SimpleNamespace

import xarray as xr

from brewsim.answers.explanation import Explained
from brewsim.answers.from_log import FromLog, ReadingInHouse
from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.study.inference.attribution import Attribution, Share
from brewsim.study.inference.predictive_check import Surprise
from brewsim.wording.batches import batches_of
from brewsim.wording.explanation import against_house, sentences
from brewsim.wording.house_log import house_log

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
    told = against_house(batch(5.1, MASH, METER), LOOKS["strength"], 0.6)

    assert told == (
        "An ordinary batch of this house would read 5.0; this one differs by +0.10 % ABV. That is "
        "as expected. Causes: error of the mash +0.10 (+0.10 to +0.10)."
    )


def test_the_page_and_the_command_explain_a_reading_in_the_same_words():
    name, row = "alcohol_by_volume_fraction", outcome_of("alcohol_by_volume_fraction")
    shares = (share("mash", 0.002, "batch"), share("meter", -0.0005, "measurement"))
    cause = Attribution("P1", name, "house", 0.05, 0.0515, shares, (("mash", "meter", -0.9),))
    seen = Surprise("P1", "", 0.0515, 0.05, 0.049, 0.051, 0.02, 2.3, name)
    read = ReadingInHouse(seen, cause, 0.049, 0.051, 0.03)
    one = Explained(read, replace(cause, against="recipe"), (("mash", "meter", None),))
    none = xr.Dataset(coords={"outcome": []})
    page = house_log(FromLog(None, (read,), (), 1), {name: row}, none, none, ())

    command = sentences(one)
    ((_, on_page),) = page.odd
    assert on_page[0] == command[1]
    assert on_page[0].startswith("An ordinary batch of this house would read 5.0; ")
    assert command[3] == f"{on_page[1]} No single further reading would tell them apart."


def test_what_shows_as_equal_is_not_explained():
    same = batch(5.01, share("mash", 0.01, "batch"), METER)
    content = batches_of(SimpleNamespace(batches=(), surprises=(), remarks=()), [same], LOOKS)

    assert content.panel.sentences == (
        "P1, strength: 5.01 % ABV. An ordinary batch of this house would read the same.",
    )
    assert content.panel.tables == ()


def test_the_table_of_causes_adds_up_to_the_difference_that_is_told():
    one = batch(5.1, MASH, METER)
    content = batches_of(SimpleNamespace(batches=(), surprises=(), remarks=()), [one], LOOKS)

    (table,) = content.panel.tables
    assert [(row[0], row[2]) for row in table.rows] == [("Error of the mash", "+0.10")]
