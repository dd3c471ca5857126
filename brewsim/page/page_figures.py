"""Charts of a log, of a target's sources and of a tasted batch, made of a page or of a study."""

from collections.abc import Sequence

from brewsim.answers.from_log import from_log
from brewsim.beer.display_units import rows_of
from brewsim.errors import StudyError
from brewsim.page.charts import moves as move_rows
from brewsim.page.charts import run_chart
from brewsim.page.charts import sources as source_bars
from brewsim.page.charts.sketch import Sketch
from brewsim.study.inference.posterior import Learned
from brewsim.wording.content import Content
from brewsim.wording.house_log import house_panels
from brewsim.wording.page_parts import HousePanel


def chosen(names: Sequence[str], outcome: str | None) -> str:
    """Return the outcome asked for, the first one if none is; raises StudyError for another."""
    if outcome is None and names:
        return names[0]
    if outcome not in names:
        raise StudyError(f"no outcome {outcome} here; there is {', '.join(names)}")
    return str(outcome)


def batches(found: object, outcome: str | None) -> Sketch:
    """Draw the readings of one quantity in a log beside the band of their house."""
    panels: dict[str, HousePanel] = {}
    if isinstance(found, Learned):
        log = from_log(found)
        names = sorted({one.cause.outcome for one in log.readings})
        panels = house_panels(log, rows_of(found.problem, names))
    elif isinstance(found, Content) and found.house is not None:
        panels = {panel.outcome: panel for panel in found.house.panels}
    else:
        raise StudyError("this chart is made of what learn returns, or of a page with a log")
    return run_chart.in_house(panels[chosen(list(panels), outcome)]).figure


def sources(found: object, outcome: str | None) -> Sketch:
    """Draw what the spread of one target comes from."""
    if not isinstance(found, Content):
        raise StudyError("this chart is made of the page that report returns")
    bars = {bar.outcome: bar for bar in found.sources_of}
    return source_bars.source_bar(bars[chosen(list(bars), outcome)]).figure


def moves(found: object, outcome: str | None) -> Sketch:
    """Draw the moves from a tasted batch, each with where the next brew would lie."""
    del outcome  # a wish has one amount
    if not isinstance(found, Content) or found.tasted is None:
        raise StudyError("this chart is made of the page of a recipe with a wish and a tasted log")
    return move_rows.moves(found.tasted, found.tasted.rows).figure
