"""A long log on the page: in time, what is plainly odd first, one quantity's panel for each."""

import math
from dataclasses import replace

import numpy as np
import pytest

from brewsim.answers.from_log import FromLog
from brewsim.answers.odd_causes import odd_causes
from brewsim.answers.run_charts import run_charts
from brewsim.beer.display_units import rows_of
from brewsim.logbook.brew import parse_batches
from brewsim.page.charts.run_chart import in_house
from brewsim.wording.house_log import house_panels, log_screen
from brewsim.wording.page_parts import FirstScreen, HouseLog, Pictures
from tests.synthetic_brewery import RECIPE, year
from tests.texts import problem_of


def logged(cause, seed):
    problem, log = problem_of(RECIPE), parse_batches(year(cause, seed)[0], RECIPE)
    charts = run_charts(problem, log, judged=False)
    found = FromLog(None, (), (), len(log.batches), charts, odd_causes(problem, log, charts))
    return found, rows_of(problem, [one.quantity for one in charts])


FORECAST = FirstScreen("It lands.", "", "", Pictures(), (), (), None)


def screen_of(cause, seed):
    found, looks = logged(cause, seed)
    return log_screen(found, HouseLog((), (), ()), looks, FORECAST, None)


@pytest.mark.parametrize(
    ("cause", "seed", "verdict", "action"),
    [
        ("stall", 1, "B07: final gravity 1.017 where 1.0091 is usual. It stalled.",
         "Look into the fermentation of B07"),
        ("typo", 3, "B11: original gravity 1.084, or 1.048?", "Mend B11 in the log"),
        ("spindle", 1, "From B12 on: consumer hydrometer reads 0.0027 higher.",
         "Check consumer hydrometer in water"),
        ("lot", 0, "Lot N4 of Northern Brewer: bitterness is 1.61 times the others'.",
         "Look at the label of lot N4"),
    ],
)  # fmt: skip
def test_the_screen_begins_with_what_is_plainly_odd(cause, seed, verdict, action):
    screen = screen_of(cause, seed)

    assert screen.verdict == verdict
    assert screen.actions[0].title == action


def test_an_ordinary_long_log_is_as_the_house_makes_it():
    screen = screen_of("nothing", 0)

    assert screen.verdict == "Every reading of 24 batches is as this house makes it."


def test_the_odd_quantity_has_the_first_panel_and_its_odd_batch_a_diamond():
    found, looks = logged("stall", 1)
    panels = house_panels(found, looks)
    drawn = in_house(panels["final_gravity_sg"])

    assert next(iter(panels)) == "final_gravity_sg"
    assert [p.batch for p in panels["final_gravity_sg"].points if p.odd] == ["B07"]
    assert sum(t.marker.symbol == "diamond" for t in drawn.figure.data) == 1
    assert "B07 beyond a control limit" in drawn.description


def test_the_band_of_the_house_is_shaded_where_it_is_known():
    found, looks = logged("nothing", 0)
    charts = tuple(replace(c, band=np.tile(c.limits[::2], (24, 1))) for c in found.charts)
    panel = house_panels(replace(found, charts=charts), looks)["bitterness_ibu"]
    without = house_panels(found, looks)["bitterness_ibu"]

    assert sum(t.fill == "toself" for t in in_house(panel).figure.data) == 1
    assert math.isnan(without.points[0].low)
    assert not any(t.fill == "toself" for t in in_house(without).figure.data)
