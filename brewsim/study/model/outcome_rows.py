"""The outcomes a study tells of, one value each: a list gives one for each of its rows."""

from collections.abc import Mapping
from dataclasses import dataclass

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.build import Graph
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import at_medians


@dataclass(frozen=True, slots=True)
class OutcomeRow:
    """A quantity of one value, or one row of a list; `id` and `label` name it."""

    id: str
    quantity: str
    row: int | None
    label: str

    def of(self, values: Mapping[str, FloatArray]) -> FloatArray:
        """Return its values, (n,), from those of all quantities."""
        found = values[self.quantity]
        return found if self.row is None else found[self.row]


def outcome_rows(problem: Problem) -> tuple[OutcomeRow, ...]:
    """Return what is asked of a problem, one value each; raises StudyError for a table."""
    names = tuple(dict.fromkeys(problem.outcomes))
    lists = [name for name in names if problem.graph.axes(name)]
    middle = at_medians(problem, problem.graph.pruned(lists)) if lists else {}
    found: list[OutcomeRow] = []
    for name in names:
        axes, label = problem.graph.axes(name), problem.graph.label(name)
        if not axes:
            found.append(OutcomeRow(name, name, None, label))
            continue
        if len(axes) > 1:
            raise StudyError(f"{name} is a table over {', '.join(axes)}; ask for one of its rows")
        count = len(middle[name])
        labels = problem.row_labels.get(axes[0], ())
        rows = labels if len(labels) == count else tuple(map(str, range(count)))
        found += [
            OutcomeRow(f"{name}[{row}]", name, place, f"{label}: {row}")
            for place, row in enumerate(rows)
        ]
    return tuple(found)


def asked_graph(problem: Problem, outcomes: tuple[OutcomeRow, ...]) -> Graph:
    """Return the smallest graph that computes the outcomes."""
    return problem.graph.pruned(dict.fromkeys(o.quantity for o in outcomes))
