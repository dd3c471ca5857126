"""Every uncertain input says why a share of it returns, and nothing is counted twice."""

import pytest

from brewsim.answers.kinds import kind_rows
from brewsim.beer.glossary import prior_rows
from brewsim.beer_graph import all_inputs
from brewsim.priors.library import load_priors
from brewsim.wording.kinds import kinds_document
from tests.kinds.keep import BEFORE, PAGE, scatters

ROWS = {row.quantity: row for row in kind_rows(load_priors())}


@pytest.mark.parametrize("quantity", sorted(ROWS))
def test_every_uncertain_input_says_why_its_shares_return(quantity):
    """Written in priors/kinds.toml, one line for each input."""
    assert len(ROWS[quantity].reason) > 10


def test_no_reason_stands_for_an_input_that_has_no_spread():
    assert sorted(set(load_priors().reasons) - set(ROWS)) == []


def test_the_page_lists_every_input_as_it_is_today():
    """After a change that was meant: python -m tests.kinds --write."""
    text = PAGE.read_text(encoding="utf-8")
    table = kinds_document(list(ROWS.values()), {}, {}).partition("## Why")[2]

    assert text.partition("## Why")[2] == table


def test_what_replicates_differ_by_is_new_once_in_the_release_of_thiols():
    """Sarrazin (2007): 19 % between replicate fermentations; one input holds all of it."""
    new = {
        row.quantity
        for row in ROWS.values()
        if row.quantity.startswith("release_") and any(split.batch for split in row.splits)
    }

    assert new == {"release_batch_factor"}


def test_what_belongs_to_the_equipment_returns_in_the_next_brew():
    kept = ("_absorption_l_kg", "trub_fraction", "loss_fraction", "_transfer_fraction")
    found = [
        row
        for row in ROWS.values()
        if row.quantity.endswith(kept) and not row.quantity.startswith("stall")
    ]

    assert len(found) > 12
    for row in found:
        assert all(split.knowledge >= 0.8 for split in row.splits), row


@pytest.mark.slow
def test_the_pages_scatter_is_that_of_today_within_its_sampling():
    """The page says two figures; 128 x 128 batches tell a scatter to about a tenth."""
    text = PAGE.read_text(encoding="utf-8")
    found = scatters()
    lager = {one.quantity: one for one in found["quillhaven-lager"]}
    before = BEFORE["quillhaven-lager"]

    assert set(before["new lots"]) <= set(lager)
    assert lager["thiol_activity"].new_lots < before["new lots"]["thiol_activity"]
    assert lager["thiol_activity"].same_lots < 0.8 * before["same lots"]["thiol_activity"]
    for name, rows in found.items():
        told = kinds_document([], BEFORE, {name: rows}).splitlines()
        same = [line for line in told if line.startswith(f"| {name}") and line in text]

        assert len(same) >= 0.8 * len(rows), name


def test_a_row_of_a_prior_holds_the_reason():
    (row,) = prior_rows("release_batch_factor")

    assert "replicates of one must" in row["kinds_note"]
    assert prior_rows("boil_time_min")[0]["kinds_note"] == ""


def test_every_line_of_an_input_is_known_to_the_beer_or_a_choice():
    choices = {"package_", "alpha_", "attenuation_of_label", "boil_retention_", "mash_efficiency_"}
    choices |= {"stated_attenuation", "stall_possible", "krausen_", "grain_absorption_"}
    strangers = [q for q in ROWS if q not in all_inputs() and not q.startswith(tuple(choices))]

    assert strangers == []
