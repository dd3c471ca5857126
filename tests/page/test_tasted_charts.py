"""Pictures of a tasted batch, tested on the data they carry."""

import math

import plotly.graph_objects
import pytest

from brewsim.page.charts import moves, origin, svg
from brewsim.wording.page_parts import MoveRow, OriginRow, TastedBeer
from brewsim.wording.parts import Table

ROWS = (
    MoveRow("As it was", 0.5, 1.0, 2.0, "8 of 50", (1.0, 1.0)),
    MoveRow("Chosen: powder 2.5 → 1.2 g/L; mash hops 40 → 10 g, and more", 0.25, 0.5, 1.0,
            "31 of 50", (0.4, 0.8)),
)  # fmt: skip
CAME = (
    OriginRow("powder", 0.4, 0.1, 0.8, "30 of 50"),
    OriginRow("malt", 0.2, 0.05, 0.5, "20 of 50"),
)


def beer(rows=ROWS, *, folds=True, window=(-1.5, -0.5)):
    unit = "times G1" if folds else "IBU"
    return TastedBeer("G1", "Thiols", unit, folds, window, rows, (), Table("", (), ()), rows=rows)


def trace(drawn, name):
    (found,) = [one for one in drawn.figure.data if one.name == name]
    return found


def test_a_move_is_a_bar_for_the_same_wort_and_a_line_for_the_next_brew():
    drawn = moves.moves(beer(), ROWS)
    label = ROWS[1].label

    assert trace(drawn, f"{label}: same wort").x == pytest.approx([math.log2(0.4), math.log2(0.8)])
    assert trace(drawn, f"{label}: next brew").x == [-2.0, 0.0]
    assert trace(drawn, label).x == [-1.0]
    assert trace(drawn, "the wish").x == [-1.5, -1.5, -0.5, -0.5]
    assert trace(drawn, "G1").x == [0.0, 0.0]
    assert [row[-1] for row in drawn.table.rows] == ["8 of 50", "31 of 50"]


def test_long_moves_are_wrapped_and_higher_than_short_ones():
    short, long = moves.moves(beer(), ROWS[:1]), moves.moves(beer(), ROWS[1:])

    assert long.figure.layout.height > short.figure.layout.height
    assert any("\n" in note.text for note in long.figure.layout.annotations)
    assert "mash hops" in svg.draw(long.figure, "k", long.title, long.description)


def test_steps_of_bitterness_stand_on_a_plain_axis():
    rows = (MoveRow("As it was", -3.0, 0.0, 3.0, "8 of 50", (0.0, 0.0)),)
    drawn = moves.moves(beer(rows, folds=False, window=None), rows)

    assert trace(drawn, "As it was: next brew").x == [-3.0, 3.0]
    assert not [one for one in drawn.figure.data if one.name == "the wish"]


def test_sources_have_their_mean_and_nine_in_ten():
    drawn = origin.origin(CAME, "G1")

    assert trace(drawn, "powder").x == [0.4]
    assert trace(drawn, "powder: nine in ten").x == [0.1, 0.8]
    assert drawn.table.rows[0] == ("powder", "40 %", "10 %", "80 %", "30 of 50")


@pytest.mark.parametrize("drawn", [moves.moves(beer(), ROWS), origin.origin(CAME, "G1")])
def test_the_drawing_library_takes_them(drawn):
    plotly.graph_objects.Figure(drawn.figure.to_plotly())
    assert svg.draw(drawn.figure, "k", drawn.title, drawn.description).startswith("<svg")
