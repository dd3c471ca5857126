"""What a log shows, in words: every figure with the number of batches that it rests on."""

import numpy as np

from brewsim.answers.specification import SpecStudies
from brewsim.distributions.constructors import normal
from brewsim.quantities.catalogue import Quantity
from brewsim.study.model.problem import Problem
from brewsim.study.tolerance.log_against_model import against_log
from brewsim.wording.specification.log import log_sentences, log_table

LOOKS = {name: Quantity(name, name, f"{name} read", "L", 1) for name in ("often", "seldom")}


def often(x):
    return 1.0 * x


def seldom(x):
    return 2.0 * x


def studies():
    """Seven readings of one quantity, three of the other."""
    problem = Problem.of([often, seldom], {"x": normal(10.0, 1.0)})
    values = np.array([9.0, 10.5, 11.0, 9.5, 10.0, 10.2, 9.9])
    log = {"often": values, "seldom": np.where(np.arange(7) < 3, 2 * values, np.nan)}
    return SpecStudies(targets={}, observed=against_log(problem, log, draws=1024))


def test_the_confidence_of_the_extremes_is_that_of_its_own_count():
    """1 - n 0.95^(n-1) + (n-1) 0.95^n: 0.725 in 100 of 3 batches, 4.44 of 7."""
    told = " ".join(log_sentences(studies(), LOOKS))

    assert "with 3, the confidence is 0.72 %; with 7, the confidence is 4.4 %" in told
    assert "Only 3 to 7 batches" in told


def test_every_row_of_limits_says_how_many_batches_it_is_from():
    table = log_table(studies(), LOOKS)

    assert table.caption == "Limits from 3 to 7 batches alone"
    assert table.header[1] == "batches"
    assert [row[1] for row in table.rows] == ["7", "7", "3", "3"]
