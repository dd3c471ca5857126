"""Figures are tested on the data they carry, and their still pictures on what they show."""

import html
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import plotly.graph_objects
import pytest

from brewsim.page.charts import again, drivers, house, kinds, sources, strips, style, svg
from brewsim.page.charts.sketch import Sketch
from brewsim.page.page import render
from brewsim.quantities.catalogue import outcome_of
from brewsim.wording.content import KindShares
from brewsim.wording.page_parts import (
    AgainRow,
    HousePanel,
    HousePoint,
    Pictures,
    SourceBar,
    SourceRow,
    Strip,
)
from brewsim.wording.parts import Limits
from tests.wording.test_sentences import bar

BITTER = outcome_of("bitterness_ibu")


WANTED = Limits(18, 26)


def strip_of(values, *, look=BITTER, target=WANTED, logged=False):
    """A strip of fifty batches, and the pictures it stands in, all targets being this one."""
    inside = () if target is None else tuple(target.lower <= v <= target.upper for v in values)
    count = sum(inside) if inside else None
    one = Strip(
        "bitterness_ibu", look, logged, tuple(values), inside, target,
        min(values), float(np.median(values)), max(values), count, f"{count} of 50 inside",
    )  # fmt: skip
    return Pictures((one,), inside), one


SPREAD = np.linspace(12, 31, 50).tolist()


def traces(figure, name):
    return [trace for trace in figure.data if trace.name == name]


def marks(figure, name):
    return sum(len(trace.x) for trace in traces(figure, name))


def drawn(figure, key="k"):
    return ET.fromstring(svg.draw(figure, key, "title", "words"))  # noqa: S314 - our own text


def test_there_are_fifty_marks_and_those_that_miss_have_another_shape():
    figure = strips.strip(*strip_of(SPREAD)).figure

    assert marks(figure, "in target") == sum(18 <= v <= 26 for v in SPREAD)
    assert marks(figure, "in target") + marks(figure, "misses") == 50
    (inside,), (outside,) = traces(figure, "in target"), traces(figure, "misses")
    assert (inside.marker.symbol, outside.marker.symbol) == ("circle", "diamond-open")


def test_one_batch_has_one_darkness_in_every_strip():
    """Of two targets the dark marks are the batches that meet both, pale ones meet this alone."""
    _, one = strip_of(SPREAD)
    every = tuple(ok and i % 2 == 0 for i, ok in enumerate(one.inside))
    both = Pictures((one, one), every)

    figure = strips.strip(both, one).figure

    assert marks(figure, "meets all targets") == sum(every)
    assert marks(figure, "meets this target only") == sum(one.inside) - sum(every)


def test_without_a_target_no_mark_has_the_colour_of_landing():
    figure = strips.strip(*strip_of(SPREAD, target=None)).figure

    (trace,) = traces(figure, "a batch")
    assert len(trace.x) == 50
    assert trace.marker.color == "var(--plain)"


def test_the_table_of_a_strip_tells_values_between_batches():
    rows = dict(strips.strip(*strip_of(SPREAD)).table.rows)

    assert rows["25 of 50 below"] == "21.5 IBU"
    assert rows["in target"].startswith("21 of 50")


def test_the_target_is_tinted_between_its_limits():
    (band,) = traces(strips.strip(*strip_of(SPREAD)).figure, "target")

    assert (min(band.x), max(band.x)) == (18, 26)


def test_marks_of_one_pile_do_not_lie_on_one_another_and_none_moves_far():
    values = np.sort(np.random.default_rng(1).normal(size=50))

    pile = strips.piles(values, 0.2)

    assert len(set(pile)) == 50
    assert max(abs(x - value) for (x, _), value in zip(pile, values, strict=True)) <= 0.2


def test_outcomes_in_folds_stand_on_a_log_axis():
    values = [2.0 ** (i / 10) for i in range(50)]
    look = outcome_of("free_3sh_ng_l")

    figure = strips.strip(*strip_of(values, look=look, target=None, logged=True)).figure

    assert figure.layout.xaxis.range[1] < 6
    assert list(figure.layout.xaxis.ticktext) == ["1", "2", "5", "10", "20"]


def test_an_outcome_that_never_varies_is_drawn_as_one_pile():
    figure = strips.strip(*strip_of([20.0] * 50)).figure

    found = traces(figure, "in target")[0]
    assert set(found.x) == {20.0}
    assert max(found.y) == 49.5


def test_each_input_has_its_share_at_the_end_of_its_bar():
    bar_of = SourceBar(
        "bitterness_ibu", "Bitterness", (("measure", "you can measure it", 0.6),
        ("always", "the same in every brew, not known", 0.4)),
        (SourceRow("Utilization", 0.6, "measure"), SourceRow("Kettle", 0.3, "nobody")),
        ("7 more, together 10 %",), "Bitterness: all of it.",
    )  # fmt: skip

    figure = sources.source_bar(bar_of).figure

    ends = {note.text: note.x for note in figure.layout.annotations}
    assert ends["60 %"] == 0.6
    assert ends["30 %"] == 0.3
    assert "◆ Utilization" in ends
    parts = [t for t in figure.data if t.base is not None]
    assert parts[-1].base[0] + parts[-1].x[0] == pytest.approx(1.0)


def test_the_own_scatter_lies_inside_the_next_batch_s_bar():
    row = AgainRow("Bitterness", "IBU", 14, 20, 29, 16, 24, ("14", "20", "29 IBU"), "± 4 IBU")

    figure = again.again(row).figure

    (whole,), (own,) = traces(figure, "the next batch"), traces(figure, "your own batches")
    assert list(whole.x) == [14, 29, 29, 14, 14]
    assert list(own.x) == [16, 24]
    assert whole.line.color == "var(--inside)"
    assert whole.fillcolor == "var(--band)"


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


def test_shares_by_kind_stack_to_the_whole():
    shares = [KindShares("bitterness_ibu", BITTER, 0.5, 0.2, 0.3)]

    figure = kinds.kind_bars(shares).figure

    last = figure.data[-1]
    assert np.isclose(last.base[0] + last.x[0], 1.0)
    assert len({trace.marker.pattern.shape for trace in figure.data}) == 3


def test_only_the_odd_reading_has_another_shape_and_colour():
    points = (
        HousePoint("B1", 22, "22 IBU", odd=False, low=18, high=26, first_low=14, first_high=29),
        HousePoint("B2", 31, "31 IBU", odd=True, low=18, high=26, first_low=14, first_high=29),
    )

    found = house.house_panel(HousePanel("Bitterness", "IBU", points))

    (usual,), (odd,) = traces(found.figure, "as usual"), traces(found.figure, "odd")
    assert (usual.marker.symbol, odd.marker.symbol) == ("square", "diamond")
    assert usual.marker.color != odd.marker.color
    assert [list(t.x) for t in traces(found.figure, "this house")] == [[18, 26, 26, 18, 18]] * 2
    assert [row[-1] for row in found.table.rows] == ["as usual", "odd"]


def test_the_still_picture_shows_every_mark_inside_its_frame():
    root = drawn(strips.strip(*strip_of(SPREAD)).figure)
    _, _, wide, high = map(float, root.get("viewBox").split())
    circles = list(root.iter("circle"))

    assert len(circles) == sum(18 <= v <= 26 for v in SPREAD)
    assert all(0 < float(c.get("cx")) < wide and 0 < float(c.get("cy")) < high for c in circles)


def test_the_still_picture_is_labelled_for_a_screen_reader():
    root = drawn(strips.strip(*strip_of(SPREAD)).figure, "strip-0")

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

    assert len(figures) > 10
    for figure in figures:
        plotly.graph_objects.Figure(figure)


@pytest.mark.parametrize("name", ['<a href="https://x.example">B1</a>', "R&D", "a < b"])
def test_a_name_with_markup_stays_a_name_in_the_live_chart(name):
    """The drawing library reads a little markup: a link must not come of a batch's id."""
    point = HousePoint(name, 22, "22", odd=True, low=18, high=26, first_low=14, first_high=29)
    sketch = house.house_panel(HousePanel(name, "", (point,))).figure

    live = json.dumps(sketch.to_plotly())

    assert name not in live.replace('\\"', '"')
    texts = [note["text"] for note in sketch.to_plotly()["layout"]["annotations"]]
    assert html.unescape(texts[0]) == name
    assert not re.search("[<>]|&(?!(lt|gt|amp);)", texts[0])
    assert name in [element.text for element in drawn(sketch).iter("text")]


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
