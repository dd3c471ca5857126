"""One odd reading and a log as a table, held against figures that are worked out by hand."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from brewsim.answers.log_table import LogTable
from brewsim.answers.single_reading import _slip, _spread, _stall_density, single_reading
from brewsim.logbook.slips import slips_of
from brewsim.study.tolerance.changes import Change

OG, FG, ABV = "original_gravity_sg", "final_gravity_sg", "alcohol_by_volume_fraction"


class Table:
    """A table of gravities alone: what is typed, and numbers on a plain scale."""

    def __init__(self, columns, typed=""):
        self.where = {name: place for place, name in enumerate(columns)}
        self.values = self.plain = np.array(list(columns.values()), dtype=float).T
        self.ids = [f"B{n}" for n in range(len(self.plain))]
        self.ratio = [False] * len(columns)
        self.typed = typed

    def written(self, _batch, _name):
        return self.typed

    def on_scale(self, _batch, _name, value):
        return value

    def rounding(self):
        return np.full(len(self.where), 0.001)


def change(amount, name=FG, place=2):
    return Change("one", (name,), (place,), amount, amount, amount, 9.0)


STALLED = {OG: [1.050, 1.050, 1.060, 1.050], FG: [1.010, 1.012, 1.022, 1.011]}


def test_the_usual_spread_is_that_of_the_median_distance():
    assert _spread(np.array([1.0, 2.0, 3.0, 4.0, 90.0]), 0.1) == pytest.approx(1.4826)
    assert _spread(np.array([1.0, 1.0, 1.0]), 0.1) == pytest.approx(0.05)
    assert _spread(np.array([1.0]), 0.0) == 1e-12


@pytest.mark.parametrize(
    ("columns", "amount", "others", "density"),
    [
        (STALLED, 0.0120, [], 1 / (0.32 * 0.060)),
        (STALLED, 0.06 * 0.03 + 1e-9, [], 1 / (0.32 * 0.060)),
        (STALLED, 0.06 * 0.35 - 1e-9, [], 1 / (0.32 * 0.060)),
        (STALLED, 0.06 * 0.03 - 1e-9, [], 0.0),
        (STALLED, 0.06 * 0.35 + 1e-9, [], 0.0),
        (STALLED, -0.0120, [], 0.0),
        (STALLED, 0.0, [], 0.0),
        ({FG: STALLED[FG]}, 0.0120, [], 0.0),
        (STALLED | {OG: [1.05, 1.04, math.nan, 1.06]}, 0.0120, [], 1 / (0.32 * 0.050)),
        (STALLED | {ABV: [0.05] * 4}, 0.0120, [], 0.0),
        (STALLED | {ABV: [0.05] * 4}, 0.0120, [(ABV, 2)], 1 / (0.32 * 0.060)),
        (STALLED | {ABV: [0.05] * 4}, 0.0120, [(ABV, 1)], 0.0),
        (STALLED | {ABV: [0.05] * 4}, 0.0120, [(OG, 2)], 0.0),
        (STALLED | {ABV: [0.05, 0.05, math.nan, 0.05]}, 0.0120, [], 1 / (0.32 * 0.060)),
    ],
)
def test_a_stall_leaves_three_to_thirty_five_points_of_attenuation(
    columns, amount, others, density
):
    """Evenly: one over the width of what is undone, in units of the gravity."""
    beside = [change(0.01, name, place) for name, place in others]

    found = _stall_density(Table(columns), change(amount), beside)

    assert found == pytest.approx(density, rel=1e-6)


def test_only_a_final_gravity_stalls():
    assert _stall_density(Table(STALLED), change(0.012, OG), []) == 0.0


def test_the_likeliest_slip_and_the_density_of_all_of_them():
    table = Table(STALLED, "1.084")
    middle, spread = 1.048, 0.002
    by_hand = {
        slip.text: slip.share * stats.t.pdf((float(slip.text) - middle) / spread, 5) / spread
        for slip in slips_of("1.084")
        if 0.98 <= float(slip.text) <= 1.2
    }

    best, density = _slip(table, "B2", OG, (middle, spread))

    assert best.text == max(by_hand, key=by_hand.get) == "1.048"
    assert density == pytest.approx(sum(by_hand.values()), rel=0.01)
    assert _slip(Table(STALLED, ""), "B2", OG, (middle, spread)) == (None, 0)


@pytest.mark.parametrize("spread", [0.001, None])
def test_three_causes_are_weighed_by_how_often_they_happen(spread):
    """Slips 5, stalls 20 and others 5 of a thousand, each times its density."""
    table = Table(STALLED, "1.022")
    found = single_reading(table, change(0.0110), [], spread)

    wide = spread or 1.4826 * 0.001  # the others read 1.010, 1.012, 1.011
    off = 0.005 * stats.cauchy.pdf(0.0110, scale=3 * wide)
    stall = 0.020 / (0.32 * 0.060)
    slip = 0.005 * _slip(table, "B2", FG, (1.011, wide))[1]
    chances = {"slip": slip, "stall": stall, "odd": off}
    kind = max(chances, key=chances.get)
    assert found.kind == kind
    assert found.chance == pytest.approx(chances[kind] / sum(chances.values()), rel=1e-6)
    assert found.value == 1.022
    assert found.usual == pytest.approx(1.011, abs=1e-12)
    worth_a_word = slip >= 0.1 * sum(chances.values())
    assert bool(found.meant) == worth_a_word
    assert found.typed == ("1.022" if worth_a_word else "")


def test_a_reading_without_a_slip_or_a_stall_is_just_odd():
    found = single_reading(Table({OG: [1.05, 1.051, 1.09, 1.052]}, ""), change(0.04, OG), [], 0.001)

    assert (found.kind, found.chance, found.typed, found.meant, found.what) == (
        "odd",
        1,
        "",
        "",
        "",
    )


def chart(quantity, values, *, scaled=True, factor=1.0, shift=0.0):
    batches = tuple(f"B{n}" for n, v in enumerate(values) if v is not None)
    known = np.array([v for v in values if v is not None], dtype=float)
    size = np.ones(len(known))
    return SimpleNamespace(
        quantity=quantity,
        batches=batches,
        values=known,
        scaled=scaled,
        factor=factor * size,
        shift=shift * size,
    )


def reading(quantity, instrument, scale="linear"):
    return SimpleNamespace(quantity=quantity, instrument=instrument, scale=scale)


def log_of(count, readings=(), tags=None, lots=None, texts=None):
    tags, lots = tags or {}, lots or {}
    graph = SimpleNamespace(nodes=(OG, FG, "bitterness_ibu"), inputs=())
    entries, batches = [], []
    for name in (f"B{n}" for n in range(count)):
        read = (texts or {}).get(name, {})
        entries.append(SimpleNamespace(id=name, tags=tags.get(name, {}), readings=read))
        factors = [SimpleNamespace(id=f"alpha | {k}", lot=v) for k, v in lots.get(name, {}).items()]
        problem = SimpleNamespace(factors=[*factors, SimpleNamespace(id="x", lot="")], graph=graph)
        batches.append(SimpleNamespace(id=name, problem=problem, readings=readings))
    return SimpleNamespace(entries=entries, batches=batches)


def test_a_table_holds_logarithms_of_what_has_a_zero_and_nothing_where_nothing_was_read():
    charts = [
        chart("bitterness_ibu", [20, None, 22]),
        chart(OG, [1.05, 1.06, None], scaled=False),
        chart("a", [0.0, 1.0, 2.0]),
    ]
    table = LogTable(log_of(3), charts)

    nan = math.nan
    np.testing.assert_array_equal(table.plain, [[20, 1.05, 0], [nan, 1.06, 1], [22, nan, 2]])
    assert table.ratio == [True, False, False]
    np.testing.assert_allclose(table.values[:, 0], [math.log(20), nan, math.log(22)])
    np.testing.assert_array_equal(table.values[:, 1:], table.plain[:, 1:])
    np.testing.assert_allclose(table.rounding(), [2 / 21, 0.01, 1.0])
    assert LogTable(log_of(1), [chart("a", [3.0])]).rounding().tolist() == [0.0]


def test_groups_are_tags_and_lots_of_every_batch():
    tags = {"B0": {"tank": "T1"}, "B2": {"tank": "T2", "brewer": "Ada"}}
    lots = {"B0": {"Fuggle": "F1"}, "B1": {"Fuggle": "F2", "": "x"}}
    table = LogTable(log_of(3, tags=tags, lots=lots), [])

    assert table.groups() == {
        "tank": ["T1", "", "T2"],
        "brewer": ["", "", "Ada"],
        "lot of Fuggle": ["F1", "F2", ""],
    }


def test_what_one_instrument_reads_goes_together():
    readings = [
        reading(OG, "spindle"),
        reading(FG, "spindle"),
        reading("bitterness_ibu", "lab, bitterness", "log"),
        reading("color", "lab, bitterness"),
        reading("bitterness_ibu", ""),
    ]
    charts = [chart(name, [1.0]) for name in (OG, FG, "bitterness_ibu", "color")]
    table = LogTable(log_of(1, readings), charts)

    assert table.together() == [[OG, FG]]
    assert table.instrument("bitterness_ibu") == "lab"
    assert table.instrument("nothing") == ""


def test_a_text_is_that_of_the_one_reading_and_a_value_goes_where_the_table_has_it():
    texts = {
        "B0": {"original_gravity": ("1.05 by spindle",), "FG": ("1.01",)},
        "B1": {"original_gravity": ("1.05", "1.06")},
    }
    charts = [
        chart("bitterness_ibu", [20, 22], factor=0.5, shift=1.0),
        chart(OG, [1.05], scaled=False),
    ]
    table = LogTable(log_of(2, texts=texts), charts)

    assert table.written("B0", OG) == "1.05"
    assert table.written("B1", OG) == ""
    assert table.written("B1", FG) == ""
    assert table.on_scale("B1", "bitterness_ibu", 20.0) == pytest.approx(math.log(11))
    assert math.isnan(table.on_scale("B1", "bitterness_ibu", -2.0))
    assert table.on_scale("B0", OG, 1.07) == pytest.approx(1.07)
