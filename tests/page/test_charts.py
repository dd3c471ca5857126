"""Figures are tested on the data they carry, and their still pictures on what they show."""

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import plotly.graph_objects
import pytest

from brewsim.page.charts import batches, dots, drivers, kinds, knobs, style, svg
from brewsim.page.charts.sketch import Sketch
from brewsim.page.page import render
from brewsim.quantities.catalogue import outcome_of
from brewsim.wording.content import BatchPoint, KindShares, KnobCurve, Limits
from brewsim.wording.sentences import count_inside
from tests.wording.test_sentences import ALCOHOL, bar

BITTER = outcome_of("bitterness_ibu")
CURVE = KnobCurve(
    knob="Hop mass",
    unit="g",
    outcome="bitterness_ibu",
    look=BITTER,
    scale="linear",
    settings=(0.0, 20.0, 40.0),
    low=(0.0, 8.0, 16.0),
    middle=(0.0, 12.0, 24.0),
    high=(0.0, 17.0, 34.0),
    target=Limits(18, 26),
    chance=(0.0, 0.1, 0.6),
    bracket=(35.0, 40.0),
    current=30.0,
)


def traces(figure, name):
    return [trace for trace in figure.data if trace.name == name]


def marks(figure, name):
    return sum(len(trace.x) for trace in traces(figure, name))


def drawn(figure, key="k"):
    return ET.fromstring(svg.draw(figure, key, "title", "words"))  # noqa: S314 - our own text


def test_there_are_fifty_dots_and_those_in_the_target_have_another_shape():
    figure = dots.quantile_dots(ALCOHOL).figure

    assert marks(figure, "in target") == count_inside(ALCOHOL)
    assert marks(figure, "in target") + marks(figure, "out of target") == 50
    (inside,), (outside,) = traces(figure, "in target"), traces(figure, "out of target")
    assert (inside.marker.symbol, outside.marker.symbol) == ("circle", "diamond-open")


def test_the_table_of_dots_tells_values_between_them():
    """Half of the dots lie below the middle; in folds the way between two dots is a ratio."""
    outcome = replace(ALCOHOL, dots=tuple(4.0 + 0.02 * n for n in range(50)), middle=4.49)
    rows = dict(dots.quantile_dots(outcome).table.rows)
    ratios = replace(outcome, scale="log2", dots=tuple(2.0 ** (n / 2) for n in range(50)))

    assert rows["25 in 50 below"] == "4.49 % ABV"
    assert rows["3 in 50 below"] == "4.05 % ABV"
    assert dots._between(ratios, 25) == pytest.approx(2.0 ** (24.5 / 2))


def test_the_target_is_hatched_between_its_limits():
    (band,) = traces(dots.quantile_dots(ALCOHOL).figure, "target")

    assert (min(band.x), max(band.x)) == (4.8, 5.4)
    assert band.fillpattern.shape == "/"


def test_dots_of_one_pile_do_not_lie_on_one_another_and_none_moves_far():
    values = np.sort(np.random.default_rng(1).normal(size=50))

    pile = dots.piles(values, 0.2)

    assert len(set(pile)) == 50
    assert max(abs(x - value) for (x, _), value in zip(pile, values, strict=True)) <= 0.2


def test_outcomes_in_folds_stand_on_a_log_axis():
    values = tuple(2.0 ** (i / 10) for i in range(50))
    folds = replace(
        ALCOHOL, look=outcome_of("free_3sh_ng_l"), scale="log2", dots=values, target=None,
        low=values[2], middle=values[25], high=values[47],
    )  # fmt: skip

    figure = dots.quantile_dots(folds).figure

    assert figure.layout.xaxis.range[1] < 6
    assert list(figure.layout.xaxis.ticktext) == ["1", "2", "5", "10", "20"]


def test_an_outcome_that_never_varies_is_drawn_as_one_pile():
    same = replace(ALCOHOL, dots=(5.0,) * 50, low=5.0, high=5.0, target=None)

    figure = dots.quantile_dots(same).figure

    assert {x for trace in figure.data for x in trace.x} == {5.0}
    assert max(y for trace in figure.data for y in trace.y) == 49.5


def test_driver_bars_are_ranked_with_their_sampling_error_and_a_sign_in_text():
    bars = [replace(bar("Small", 0.2, 0.02), mark="turn"), replace(bar("Big", 0.7), mark="measure")]

    figure = drivers.driver_bars("Bitterness", bars).figure

    (alone,), (together,) = traces(figure, "alone"), traces(figure, "together")
    assert list(alone.x) == [0.7, 0.2]
    assert np.allclose(together.error_x.array, [0.01, 0.02])
    words = [note.text for note in figure.layout.annotations]
    assert "◆ Big" in words
    assert "▲ Small" in words


def test_all_inputs_are_in_the_table_when_the_chart_shows_the_largest():
    bars = [bar(f"Input {i}", 0.09 - 0.001 * i, 0.001) for i in range(11)]

    shown = drivers.driver_bars("Bitterness", bars)

    assert len(traces(shown.figure, "alone")[0].x) == drivers.MOST
    assert len(shown.table.rows) == 11


def test_the_knob_chart_shows_band_target_today_and_the_bracket():
    figure = knobs.knob_curve(CURVE).figure

    (band,) = traces(figure, "nine chances in ten")
    assert list(band.y[:3]) == [0.0, 8.0, 16.0]
    assert list(traces(figure, "lands")[0].x) == [35.0, 40.0]
    assert list(traces(figure, "today")[0].x) == [30.0, 30.0]
    assert {18.0, 26.0} <= set(traces(figure, "target")[0].y)


def test_a_choice_is_drawn_by_its_names():
    choice = replace(
        CURVE, choices=("ordinary", "active", "engineered"), settings=(0.0, 1.0, 2.0),
        bracket=None, current=1.0,
    )  # fmt: skip

    found = knobs.knob_curve(choice)

    assert list(found.figure.layout.xaxis.ticktext) == ["ordinary", "active", "engineered"]
    assert found.table.rows[1][0] == "active"


def test_shares_by_kind_stack_to_the_whole():
    shares = [KindShares("bitterness_ibu", BITTER, 0.5, 0.2, 0.3)]

    figure = kinds.kind_bars(shares).figure

    last = figure.data[-1]
    assert np.isclose(last.base[0] + last.x[0], 1.0)
    assert len({trace.marker.pattern.shape for trace in figure.data}) == 3


def test_a_reading_outside_what_was_expected_has_another_shape():
    points = [
        BatchPoint("B1", "bitterness_ibu", BITTER, "linear", 15, 20, 26, 22),
        BatchPoint("B2", "bitterness_ibu", BITTER, "linear", 15, 20, 26, 31),
    ]

    found = batches.batch_points(points)

    symbols = [trace.marker.symbol for trace in traces(found.figure, "measured")]
    assert symbols == ["square", "diamond-open"]
    assert [row[-1] for row in found.table.rows] == ["inside", "outside"]


def test_the_still_picture_shows_every_mark_inside_its_frame():
    root = drawn(dots.quantile_dots(ALCOHOL).figure)
    _, _, wide, high = map(float, root.get("viewBox").split())
    circles = list(root.iter("circle"))

    assert len(circles) == count_inside(ALCOHOL)
    assert all(0 < float(c.get("cx")) < wide and 0 < float(c.get("cy")) < high for c in circles)


def test_the_still_picture_is_labelled_for_a_screen_reader():
    root = drawn(knobs.knob_curve(CURVE).figure, "knob-0")

    assert root.get("role") == "img"
    named = root.get("aria-labelledby").split()
    assert {e.get("id") for e in root if e.tag in ("title", "desc")} == set(named)


@pytest.mark.parametrize("label", ["<b>bold</b> & co", "A &lt; b", '"quoted"'])
def test_words_in_the_still_picture_are_shown_as_they_are(label):
    figure = drivers.driver_bars("x", [bar(label, 0.5)]).figure

    texts = [element.text for element in drawn(figure).iter("text")]

    assert label in texts


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(0, 1, [0, 0.2, 0.4, 0.6, 0.8, 1]), (4.55, 5.43, [4.6, 4.8, 5, 5.2, 5.4]), (3, 3, [3])],
)
def test_ticks_are_round_numbers_inside_the_axis(low, high, expected):
    assert np.allclose(style.ticks(low, high), expected)


def test_the_drawing_library_takes_every_figure_of_the_page(made):
    """The page writes figures without it; here it checks every property of every mark."""
    text = render(made.content)
    live = re.findall(r'<script type="application/json">(\{"data".*?)</script>', text)
    figures = [json.loads(one) for one in live]

    assert len(figures) > 15
    for figure in figures:
        plotly.graph_objects.Figure(figure)


def test_what_a_sketch_does_not_set_reads_as_nothing():
    sketch = Sketch()
    sketch.add_bar(x=[1], marker={"color": "red"})
    sketch.update_xaxes(range=[0, 1])
    sketch.update_xaxes(title={"text": "IBU"})
    sketch.update_xaxes(title={"standoff": 6})

    assert sketch.data[0].marker.pattern.shape is None
    assert sketch.data[0].base is None
    assert sketch.layout.xaxis.title == {"text": "IBU", "standoff": 6}
    assert sketch.layout.xaxis.range == [0, 1]
