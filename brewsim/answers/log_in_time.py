"""A learned log in the order of its days: run charts with the house's band, and plain causes."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from brewsim.answers.from_log import FromLog
from brewsim.answers.odd_causes import odd_causes
from brewsim.answers.run_charts import RunChart, run_charts
from brewsim.logbook.brew import Batches
from brewsim.study.model.problem import Problem


def in_time(found: FromLog, problem: Problem, log: Batches, *, seed: int = 1) -> FromLog:
    """Return a learned log with its charts and what is plainly odd in it."""
    charts = run_charts(problem, log, judged=False)
    plain = odd_causes(problem, log, charts, seed=seed)
    return replace(found, charts=with_bands(charts, found), plain=plain)


def with_bands(charts: Sequence[RunChart], log: FromLog) -> tuple[RunChart, ...]:
    """Return charts with the band of this house that a learned log gives each reading."""
    ends = {(r.surprise.batch, r.cause.outcome): (r.low, r.high) for r in log.readings}
    found = []
    for one in charts:
        rows = [ends.get((batch, one.quantity), (math.nan, math.nan)) for batch in one.batches]
        band = np.array(rows) * one.factor[:, None] + one.shift[:, None]
        found.append(replace(one, band=band))
    return tuple(found)
