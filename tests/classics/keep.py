"""Twelve classic beers against a style guideline, and the page made of them.

Ranges: Beer Judge Certification Program, Style Guidelines, 2021, vital statistics of 5D, 11A, 18B,
21A, 15B, 10A, 17D, 13A, 25B, 16A, 13B and 23A, read in its published data file. The recipes are
this project's own and state no efficiency and no attenuation: what is held is what brewsim assumes.
"""

from pathlib import Path

import numpy as np

from brewsim import pose, read_recipe, simulate
from brewsim.constants import EBC_PER_SRM
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import span, value

TESTS = Path(__file__).resolve().parents[1]
CLASSICS = TESTS / "published" / "classics"
FIRST = CLASSICS / "first"
"""Twelve recipes as somebody first wrote them down, none of them changed after it was brewed."""
PAGE = TESTS.parent / "docs" / "classics.md"
FIGURES = {
    "original_gravity_sg": 1.0,
    "final_gravity_sg": 1.0,
    "alcohol_by_volume_fraction": 0.01,
    "bitterness_ibu": 1.0,
    "beer_color_ebc": EBC_PER_SRM,
}
"""What a guideline prints of a beer, and the size of its unit in the model's."""
# OG, FG, ABV in %, IBU, SRM
RANGES = {
    "pale-lager": ((1.044, 1.050), (1.008, 1.013), (4.4, 5.2), (22, 40), (2, 4)),
    "ordinary-bitter": ((1.030, 1.039), (1.007, 1.011), (3.2, 3.8), (25, 35), (8, 14)),
    "american-pale-ale": ((1.045, 1.060), (1.010, 1.015), (4.5, 6.2), (30, 50), (5, 10)),
    "american-ipa": ((1.056, 1.070), (1.008, 1.014), (5.5, 7.5), (40, 70), (6, 14)),
    "irish-stout": ((1.036, 1.044), (1.007, 1.011), (3.8, 5.0), (25, 45), (25, 40)),
    "weissbier": ((1.044, 1.053), (1.008, 1.014), (4.3, 5.6), (8, 15), (2, 6)),
    "english-barley-wine": ((1.080, 1.120), (1.018, 1.030), (8.0, 12.0), (35, 70), (8, 22)),
    "dark-mild": ((1.030, 1.038), (1.008, 1.013), (3.0, 3.8), (10, 25), (14, 25)),
    "saison": ((1.048, 1.065), (1.002, 1.008), (5.0, 7.0), (20, 35), (5, 14)),
    "sweet-stout": ((1.044, 1.060), (1.012, 1.024), (4.0, 6.0), (20, 40), (30, 40)),
    "british-brown-ale": ((1.040, 1.052), (1.008, 1.013), (4.2, 5.9), (20, 30), (12, 22)),
    "berliner-weisse": ((1.028, 1.032), (1.003, 1.006), (2.8, 3.8), (3, 8), (2, 3)),
}
ROUNDING = (0.0005, 0.0005, 0.05, 0.5, 0.5)
"""Half the last digit a guideline prints: a middle is held as it would be printed."""
EXCEPTIONS = {
    ("pale-lager", "final_gravity_sg"): "one rest at 64 °C makes a dry wort; the guideline's beers "
    "are mashed in steps or warmer",
    ("ordinary-bitter", "beer_color_ebc"): "8 % crystal malt of 60 °L: Morey's formula by hand has "
    "7 SRM too; the style's darker beers carry more of it, or caramel",
    ("american-pale-ale", "final_gravity_sg"): "0.001 below the range",
    ("american-ipa", "bitterness_ibu"): "12 g/L of dry hops bring humulinones and alpha acids, "
    "which the laboratory's reading counts; the guideline counts the kettle",
    ("american-ipa", "beer_color_ebc"): "little crystal malt, and a light one: as pale as brewers "
    "of today like it",
    ("english-barley-wine", "final_gravity_sg"): "a clean ale yeast goes further than an English "
    "one",
    (
        "english-barley-wine",
        "bitterness_ibu",
    ): "11 g of alpha acids in 20 L: hopped as the American kind is, 50 to 100 IBU there",
    ("dark-mild", "alcohol_by_volume_fraction"): "a session ale of 2.9 kg in 20 L mashed at 69 °C: "
    "no mild, the nearest style",
    ("dark-mild", "beer_color_ebc"): "no roast malt in it: no mild, the nearest style",
    ("saison", "alcohol_by_volume_fraction"): "half a kilogram of sugar makes the strong kind, 7.0 "
    "to 9.5 % there",
    ("saison", "beer_color_ebc"): "pale malts and sugar alone",
    ("berliner-weisse", "original_gravity_sg"): "3.1 kg in 20 L, a little more than the style",
    ("berliner-weisse", "alcohol_by_volume_fraction"): "follows from the gravity",
    ("berliner-weisse", "bitterness_ibu"): "brewed without hops, as its name says",
}
"""Middles of the first recipes outside their guideline, and why a brewer still believes them."""
_SAID = (
    "Each cell: the middle, the interval of nine chances in ten, and the range of the Beer Judge "
    "Certification Program, Style Guidelines, 2021. The recipes state no efficiency and no "
    "attenuation. A guideline shows that usual recipes give usual beers, not that the widths are "
    "right: [published brews](coverage.md) show that."
)
_FIRST_SAID = (
    "Twelve recipes (`tests/published/classics/first/`) as they were first written down, none "
    "changed after it was brewed here; each stands beside the style nearest to it."
)
_FITTED_SAID = (
    "Twelve more (`tests/published/classics/`), some adjusted until the beer fitted its name: "
    "they are there to notice when a change of numbers moves usual beers."
)


def brewed(name, folder=CLASSICS):
    """Return the recipe's name and figure -> its 5, 50 and 95 % points, in the model's units."""
    problem = pose(read_recipe(folder / f"{name}.toml"))
    drawn = simulate(problem, draws=2048, seed=1)
    points = {q: np.quantile(drawn[q].values, [0.05, 0.5, 0.95]) for q in FIGURES}
    return problem.name, points


def outside(name, points):
    """Return the figures of a classic whose middle lies outside its guideline."""
    found = set()
    for (figure, unit), (low, high), half in zip(
        FIGURES.items(), RANGES[name], ROUNDING, strict=True
    ):
        if not low - half <= points[figure][1] / unit <= high + half:
            found.add(figure)
    return found


def page():
    """Return the page in Markdown: middle, interval and range of every figure, and exceptions."""
    lines = ["# Classic beers against a style guideline", ""]
    lines += ["Written by `python -m tests.classics --write`.", "", _SAID, ""]
    for heading, said, folder in (
        ("As first written", _FIRST_SAID, FIRST),
        ("Fitted to their names", _FITTED_SAID, CLASSICS),
    ):
        lines += [f"## {heading}", "", said, "", *_table(folder), ""]
    return "\n".join(lines)


def _table(folder):
    rows = [outcome_of(figure) for figure in FIGURES]
    lines = [f"| beer | {' | '.join(f'{r.label} {r.unit}'.strip() for r in rows)} |"]
    lines += ["|---|" + "---|" * len(rows)]
    off = []
    for name, ranges in RANGES.items():
        title, points = brewed(name, folder)
        cells = []
        for row, (figure, unit), (least, most) in zip(rows, FIGURES.items(), ranges, strict=True):
            low, middle, high = points[figure]
            usual = span(row, least * unit, most * unit)
            cells.append(f"**{value(row, middle)}**, {span(row, low, high)}; {usual}")
        lines.append(f"| {title} | {' | '.join(cells)} |")
        off += [
            f"* {title}, {outcome_of(figure).label}: {EXCEPTIONS.get((name, figure), 'unknown')}"
            for figure in FIGURES
            if figure in outside(name, points)
        ]
    lines += ["", "Middles outside their range, as a guideline prints them:"]
    return [*lines, "", *off] if off else [*lines[:-1], f"{lines[-1]} none."]
