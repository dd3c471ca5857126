"""Rules by which a run chart tells that something changed, by the names they were published under.

Western Electric Company (1956), Statistical Quality Control Handbook, "tests for unnatural
patterns"; Nelson (1984), The Shewhart control chart - tests for special causes, J. Quality
Technology 16, 237-239. The four of Western Electric together call one in 91.75 ordinary batches
(Champ & Woodall 1987, Technometrics 29, 393-399).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.study.tolerance.control_chart import ControlChart

RuleSet = Literal["limits", "western electric", "nelson"]
_WESTERN, _NELSON = "Western Electric 1956", "Nelson 1984"
_HANDBOOK = "NIST/SEMATECH e-Handbook 6.3.2"


@dataclass(frozen=True)
class Rule:
    """One rule: its published name and source, what it sees, and what completes its pattern.

    `completes` takes scores (n,) in sigmas from the centre line; `length` is how many successive
    batches the pattern takes.
    """

    source: str
    test: int
    words: str
    length: int
    completes: Callable[[FloatArray], NDArray[np.bool_]]

    @property
    def name(self) -> str:
        """The name it was published under."""
        return f"{self.source}, test {self.test}" if self.test else self.source


@dataclass(frozen=True)
class Signal:
    """A rule that was broken: from the first batch of the pattern to the last, places in time.

    `side` is +1 above the centre line, -1 below, 0 where the rule has no side.
    """

    rule: Rule
    first: int
    last: int
    side: int


def _several(scores: FloatArray, need: int, of: int, beyond: float) -> NDArray[np.bool_]:
    """Return where `need` of the last `of` lie beyond on one side, the last one among them."""
    found = np.zeros(len(scores), dtype=bool)
    for sign in (1.0, -1.0):
        out = sign * scores > beyond
        counts = np.convolve(out, np.ones(of, dtype=int))[: len(scores)]
        found |= out & (counts >= need)
    return found


def _in_a_row(inside: NDArray[np.bool_], length: int) -> NDArray[np.bool_]:
    counts = np.convolve(inside, np.ones(length, dtype=int))[: len(inside)]
    return counts >= length


def _steps(scores: FloatArray, length: int, *, turning: bool) -> NDArray[np.bool_]:
    """Return where `length` values in a row rise or fall steadily, or turn each time."""
    step = np.sign(np.diff(scores))
    found = np.zeros(len(scores), dtype=bool)
    if turning:
        found[2:] = _in_a_row(step[1:] * step[:-1] < 0, length - 2)
    else:
        for sign in (1, -1):
            found[1:] |= _in_a_row(step == sign, length - 1)
    return found


LIMIT = Rule(_WESTERN, 1, "beyond a control limit", 1, lambda z: np.abs(z) > 3)
_RUN_OF_8 = Rule(
    _WESTERN, 4, "eight in a row on one side of the centre line", 8,
    lambda z: _several(z, 8, 8, 0),
)  # fmt: skip
WESTERN_ELECTRIC = (
    LIMIT,
    Rule(_WESTERN, 2, "two of three beyond two sigmas on one side", 3,
         lambda z: _several(z, 2, 3, 2)),
    Rule(_WESTERN, 3, "four of five beyond one sigma on one side", 5,
         lambda z: _several(z, 4, 5, 1)),
    _RUN_OF_8,
)  # fmt: skip
NELSON = (
    Rule(_NELSON, 1, LIMIT.words, 1, LIMIT.completes),
    Rule(_NELSON, 2, "nine in a row on one side of the centre line", 9,
         lambda z: _several(z, 9, 9, 0)),
    Rule(_NELSON, 3, "six in a row steadily rising or falling", 6,
         lambda z: _steps(z, 6, turning=False)),
    Rule(_NELSON, 4, "fourteen in a row up and down in turn", 14,
         lambda z: _steps(z, 14, turning=True)),
    Rule(_NELSON, 5, WESTERN_ELECTRIC[1].words, 3, WESTERN_ELECTRIC[1].completes),
    Rule(_NELSON, 6, WESTERN_ELECTRIC[2].words, 5, WESTERN_ELECTRIC[2].completes),
    Rule(_NELSON, 7, "fifteen in a row within one sigma", 15,
         lambda z: _in_a_row(np.abs(z) < 1, 15)),
    Rule(_NELSON, 8, "eight in a row beyond one sigma on either side", 8,
         lambda z: _in_a_row(np.abs(z) > 1, 8)),
)  # fmt: skip
LEVEL = Rule(
    f"{_HANDBOOK}.4", 0, "the smoothed level is beyond its limits", 1,
    lambda z: z > 1,
)  # fmt: skip
RANGE = Rule(
    f"{_HANDBOOK}.2", 0, "a jump from the batch before", 2,
    lambda z: z > 1,
)  # fmt: skip
RULES: dict[RuleSet, tuple[Rule, ...]] = {
    "limits": (LIMIT,),
    "western electric": WESTERN_ELECTRIC,
    "nelson": NELSON,
}


def signals(scores: FloatArray, rules: Sequence[Rule] = WESTERN_ELECTRIC) -> list[Signal]:
    """Return which rules scores (n,) in time break; a pattern that goes on is one signal.

    `scores` are in sigmas from the centre line.

    >>> import numpy as np
    >>> [s.rule.name for s in signals(np.array([0.1, -0.4, 3.2, 0.3]))]
    ['Western Electric 1956, test 1']
    """
    found = [one for rule in rules for one in _by(rule, np.asarray(scores, dtype=float))]
    return sorted(found, key=lambda one: (one.last, one.first))


def chart_signals(chart: ControlChart, rules: Sequence[Rule] = WESTERN_ELECTRIC) -> list[Signal]:
    """Return the rules that a chart breaks, its smoothed level and its moving ranges among them.

    A jump to or from a value beyond a control limit is left out: it says the same again.
    """
    shift = chart.level - chart.centre
    found = signals(chart.scores, rules)
    for one in _by(LEVEL, np.abs(shift) / (chart.level_high - chart.centre)):
        found.append(replace(one, side=int(np.sign(shift[one.last]))))
    jumps = np.concatenate([[0.0], chart.ranges]) / chart.range_upper
    beyond = {
        place for s in found if s.rule.words == LIMIT.words for place in range(s.first, s.last + 1)
    }
    found += [
        replace(one, side=0)
        for one in _by(RANGE, jumps)
        if beyond.isdisjoint(range(one.first, one.last + 1))
    ]
    return sorted(found, key=lambda one: (one.last, one.first))


def _by(rule: Rule, scores: FloatArray) -> Iterator[Signal]:
    places = np.flatnonzero(rule.completes(scores))
    for run in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1):
        if len(run):
            first = max(0, int(run[0]) - rule.length + 1)
            inside = scores[first : int(run[-1]) + 1]
            yield Signal(rule, first, int(run[-1]), _side(inside))


def _side(scores: FloatArray) -> int:
    above = float(np.mean(scores > 0))
    return 1 if above > 0.7 else -1 if above < 0.3 else 0
