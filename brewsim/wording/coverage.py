"""How published brews lie in the promised intervals: the table, and what it says."""

import math
from collections.abc import Iterable, Iterator, Sequence

from brewsim.answers.coverage import INTERVALS, OWN_KETTLE, Coverage, Judged, KeptCoverage
from brewsim.answers.published_brews import JUDGED, Series
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import number, spread, step

HEADER = ("outcome", "half", "n", "50 %", "90 %", "99 %", "width", "bias", "spread")
TITLE = "How well does brewsim do on beers it did not see?"
FIRST = "The same brews with the priors of when it was first asked"
COLUMNS = (
    "50, 90, 99 %: brews whose measured figure lies inside that central interval.",
    "Width: median width of the 90 % intervals, in SG or IBU.",
    "Bias, spread: mean and standard deviation of measured less foreseen (median).",
)
RULE = (
    "Halves: the worts of a source are numbered in its order; odd ones are the fitted half, even "
    "ones the judged half, all beers of a wort together. The rule looks at no result."
)
READ = "The reading's own error counts with the interval; each source is taken as it stands."


def coverage_rows(table: Iterable[Coverage]) -> list[tuple[str, ...]]:
    """Return the cells of a coverage table, figures in the shown unit of each outcome."""
    return [_cells(row) for row in table]


def _cells(row: Coverage) -> tuple[str, ...]:
    look = outcome_of(row.quantity)
    width, bias, scatter = (
        "–" if math.isnan(size) else text(look, size)
        for text, size in ((spread, row.width), (step, row.bias), (spread, row.scatter))
    )
    inside = [str(count) for count in row.inside]
    return (look.label, row.half, str(row.n), *inside, width, bias, scatter)


def verdict(table: Sequence[Coverage]) -> str:
    """Return one sentence on the judged half: how many brews kept the promise of nine in ten."""
    judged = [row for row in table if row.half == JUDGED and row.n]
    parts = [f"{row.inside[1]} of {row.n} for {outcome_of(row.quantity).label}" for row in judged]
    return f"Measured inside the interval of nine chances in ten, judged half: {', '.join(parts)}."


def far_sentence(judged: Iterable[Judged]) -> str:
    """Return which brews lie outside the widest interval, so that each can be looked at."""
    far = [
        f"{one.measurement.series}, {one.measurement.wort} "
        f"({outcome_of(one.measurement.quantity).label}, {one.measurement.half} half)"
        for one in judged
        if not one.inside(max(INTERVALS))
    ]
    return f"Outside the interval of 99 %: {'; '.join(far) or 'none'}."


def kettle_sentence(kept: KeptCoverage) -> str:
    """Return what stating the own kettle does to the intervals of bitterness."""
    own = kept.own_kettle
    unknown = next(r for r in kept.now if (r.quantity, r.half) == (own.quantity, own.half))
    return (
        f"An unknown kettle is most of what is not known of bitterness. With the kettle stated "
        f'(under [given], boil_retention_fraction = "{OWN_KETTLE}", as its brewer fitted it to '
        f"earlier beers) the intervals of the judged half are {number(own.width, 1)} IBU wide, "
        f"not {number(unknown.width, 1)}, and hold {own.inside[1]} of {own.n}."
    )


def one_kettle_sentence(kept: KeptCoverage) -> str:
    """Return why so many measured bitternesses lie inside, and what they cannot tell."""
    both = next(r for r in kept.now if (r.quantity, r.half) == (kept.own_kettle.quantity, "both"))
    return (
        f"All {both.n} beers with measured bitterness are of one kettle and one laboratory. Were "
        f"the intervals exact, their normal scores would scatter by about "
        f"{number(kept.one_kettle, 2)}, not by 1, because the beers share what is not known of "
        f"their kettle; they scatter by {number(both.score_sd, 2)}. So the figures confirm what "
        "differs from beer to beer, and say nothing of how far one kettle lies from another: in "
        "six breweries 30 to 75 % of the alpha acids came into the wort as iso-alpha acids "
        "(T. Jacobsen et al., J. Am. Soc. Brew. Chem. 47, 62, 1989)."
    )


def source_lines(series: Iterable[Series]) -> Iterator[str]:
    """Yield a line for each source: name, number of figures, source and what is said of it."""
    for one in series:
        count = len(one.measurements)
        yield f"{one.name}, {count} figures: {one.source}. {one.note[:1].upper()}{one.note[1:]}."


def coverage_document(
    series: Sequence[Series], judged: Iterable[Judged], kept: KeptCoverage
) -> str:
    """Return the generated page of the documentation, in Markdown."""
    lines = [f"# {TITLE}", "", "Written by `python -m tests.coverage --write`.", ""]
    lines += [verdict(kept.now), "", f"{RULE} {READ}", ""]
    for title, table in (("Now", kept.now), (FIRST, kept.first)):
        lines += [f"## {title}", "", *_markdown(table), ""]
    lines += [f"* {line}" for line in COLUMNS]
    lines += ["", far_sentence(judged)]
    lines += ["", "## A kettle that is known", "", kettle_sentence(kept), ""]
    lines += [one_kettle_sentence(kept)]
    lines += ["", "## Sources", "", *[f"* {line}" for line in source_lines(series)], ""]
    return "\n".join(lines)


def _markdown(table: Sequence[Coverage]) -> Iterator[str]:
    yield f"| {' | '.join(HEADER)} |"
    yield f"|{'---|' * len(HEADER)}"
    for cells in coverage_rows(table):
        yield f"| {' | '.join(cells)} |"
