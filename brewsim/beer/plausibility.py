"""What a measured value can be, and what the readings of one batch can be together."""

from collections.abc import Sequence

from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import shown, value
from brewsim.quantities.gravity import as_gravity, pair_of
from brewsim.quantities.numerals import rounded
from brewsim.study.model.batch import Reading
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import at_medians

_WEIGHED = {
    "malt": '"malt 1 mass" = "4.1 kg"',
    "sugar": '"sugar 1 mass" = "310 g"',
    "hop": '"hop 1 mass" = "31 g"',
    "dry_hop": '"hop 1 mass" = "31 g"',
    "hop_lot": '"hop 1 alpha" = "7.2 %"',
    "precursor": '"precursor 1 dose" = "2 g/L"',
    "mash_rest": 'mash = ["63 °C for 40 min", "72 °C for 20 min"]',
}
"""How a batch says what it took of one of a list, by the list."""
_OTHER_SIZE = 3.0
"""A batch is never so many times as large, or as small, as its recipe."""
_BEFORE_SUGARS = pair_of("preboil_gravity_sg")


def refuse_unreadable(quantity: str, problem: Problem) -> None:
    """Raise ValueError where one number cannot be held against what the model computes."""
    axes = problem.graph.axes(quantity)
    if axes:
        kind = axes[0].replace("_", " ")
        raise ValueError(
            f"{quantity} is one number for each {kind}, not one for the batch; what was weighed "
            f"or assayed of one goes into [batch.changed], such as {_WEIGHED[axes[0]]}"
        )
    refuse_before_sugars(quantity, problem)


def refuse_before_sugars(quantity: str, problem: Problem) -> None:
    """Raise ValueError where a wort is read before everything that the model has in it is in."""
    if quantity in _BEFORE_SUGARS and not len(problem.fixed["malt_mass_kg"]):
        raise ValueError(
            "this recipe has no malt, and its sugars and extracts are reckoned to go in after "
            "this reading, so it cannot be held against one; write the original gravity instead"
        )


def contradictions(readings: Sequence[Reading]) -> list[str]:
    """Return what one batch's readings cannot both be, whatever each was read with."""
    worts, beers = (
        [
            as_gravity(r.quantity, r.value)
            for r in readings
            if r.known is None and r.quantity in pair_of(name)
        ]
        for name in ("original_gravity_sg", "final_gravity_sg")
    )
    if worts and beers and max(beers) > max(worts):
        return [
            f"beer ({_shown(max(beers))}) cannot be denser than its wort ({_shown(max(worts))})"
        ]
    return []


def of_another_size(readings: Sequence[Reading], problem: Problem) -> list[str]:
    """Return which volumes are those of another brew, many times as large or as small."""
    volumes = [r for r in readings if r.known is None and r.quantity.endswith("volume_l")]
    if not volumes:
        return []
    planned = at_medians(problem, problem.graph.pruned([r.quantity for r in volumes]))
    told = []
    for reading in volumes:
        plan = float(planned[reading.quantity].ravel()[0])
        if plan > 0 and not plan / _OTHER_SIZE < reading.value < plan * _OTHER_SIZE:
            read, wanted = (shown(v, "L", twin=False) for v in (reading.value, rounded(plan, 3)))
            label = outcome_of(reading.quantity).label
            told.append(f"{label} of {read}, where this recipe makes {wanted}: is it its batch?")
    return told


def _shown(gravity: float) -> str:
    return value(outcome_of("original_gravity_sg"), gravity)
