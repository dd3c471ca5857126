"""One formatter of numbers and one label of a quantity in all rooms that speak."""

import ast
from pathlib import Path

import numpy as np
import pytest

import brewsim
from brewsim.answers.from_log import ReadingInHouse
from brewsim.beer.display_units import label_in, rows_of
from brewsim.logbook.pose import pose
from brewsim.quantities.catalogue import BY_QUANTITY, outcome_of
from brewsim.quantities.format import reading, value, with_unit, written_in
from brewsim.recipe.read import read_recipe
from brewsim.study.inference.attribution import Attribution
from brewsim.study.inference.predictive_check import Surprise
from brewsim.wording.content import Outcome
from brewsim.wording.house_log import house_point
from brewsim.wording.page_tables import outcome_table
from brewsim.wording.sentences import expectation
from tests.door import DEMOS

PACKAGE = Path(brewsim.__file__).parent
ROOMS = ("cli", "page", "wording", "answers", "logbook", "beer")
NOT_FOR_PEOPLE = {
    "page/charts/svg.py": "coordinates",
    "page/charts/fold_rows.py": "coordinates",
    "beer/statements.py": "the name of a prior",
    "wording/beer_swatch.py": "the code of a colour",
    "answers/coverage.py": "numbers for a file",
    "answers/published_brews.py": "recipes that are read back",
    "logbook/house.py": "a fingerprint of a prior",
    "logbook/house_store.py": "the size of a file",
    "logbook/house_file.py": "an escaped letter",
    "logbook/journal.py": "the number of a file",
    "cli/house.py": "a day and its time",
    "beer/unknown_names.py": "the name put into a sentence",
}
COUNTS = dict.fromkeys((f"wording/{n}.py" for n in ("knobs", "made_by", "next_beer", "notes")), ",")


def formats(text):
    """Yield (line, how) wherever a module turns a number into text by itself."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            yield node.lineno, ast.unparse(node.format_spec).strip("f'\"")
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod):
            yield from [(node.lineno, "%")] * isinstance(getattr(node.left, "value", 0), str)
        if isinstance(node, ast.Call):
            called = node.func
            name = called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")
            if name in {"format", "format_float_positional"}:
                yield node.lineno, f"{name}()"


def test_no_room_writes_numbers_beside_the_formatter():
    found = {
        f"{path.relative_to(PACKAGE)}:{line} {how}"
        for room in ROOMS
        for path in (PACKAGE / room).rglob("*.py")
        for line, how in formats(path.read_text(encoding="utf-8"))
        if str(path.relative_to(PACKAGE)) not in NOT_FOR_PEOPLE
        and COUNTS.get(str(path.relative_to(PACKAGE))) != how
    }

    assert found == set()


@pytest.mark.parametrize(
    "second", ['f"{x:.1f} IBU"', '"%.1f" % x', '"{:.2f}".format(x)', 'format(x, ".2f")']
)
def test_the_scan_sees_a_second_formatter(second):
    assert list(formats(f"def told(x):\n    return {second}\n"))


@pytest.mark.parametrize("quantity", [*BY_QUANTITY, "hop_oil_ml_g", "mash_water_l", "wort_ph"])
@pytest.mark.parametrize("size", [0.0, 0.5, 1.0487, 2.46, 123.45, -0.04])
def test_a_sentence_a_chart_and_a_cell_agree(quantity, size):
    """The same three figures, as a table's cell, a sentence, the dots and a batch print them."""
    row = outcome_of(quantity)
    model = (size, size + max(1.0, size), size + 3 * max(1.0, size))
    low, middle, high = (x * row.per_model for x in model)
    dots = tuple(np.linspace(low, high, 50).tolist())
    outcome = Outcome(quantity, row, row.scale, dots, low, middle, high)
    seen = Surprise("B", "", model[1], model[1], model[0], model[2], 0.5, 0.0, quantity)
    cause = Attribution("B", quantity, "house", model[1], model[1], (), ())
    read = ReadingInHouse(seen, cause, model[0], model[2], 0.5)
    cells = [value(row, x) for x in model]
    said, (_, *shown, _) = expectation(outcome), outcome_table([outcome]).rows[0]

    assert f"between {cells[0]} and {with_unit(row, cells[2])}," in said
    assert said.endswith(f" {cells[1]}.")
    assert shown == [cells[0], cells[1], cells[2]]
    assert house_point(read, row).text == with_unit(row, reading(row, model[1]))
    assert written_in({})(quantity, model[1]) == with_unit(row, cells[1])


def test_a_row_s_label_is_the_label_in_every_command():
    problem = pose(read_recipe(DEMOS / "quillhaven-lager.toml"))
    label = label_in(problem)
    known = [name for name in BY_QUANTITY if name in problem.graph]

    assert {name: label(name) for name in known} == {
        name: row.title for name, row in rows_of(problem, known).items()
    }
    assert label("fermenter_volume_l") == "Wort into the fermenter"
