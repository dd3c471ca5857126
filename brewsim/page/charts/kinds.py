"""How each outcome's spread divides: the same in every brew, new with a lot, new every brew."""

from collections.abc import Sequence

from brewsim.page.charts import style
from brewsim.quantities.chances import percent
from brewsim.wording.content import KindShares
from brewsim.wording.parts import Table
from brewsim.wording.sentences import kinds_words

_KINDS = (
    ("not known, the same every brew", "knowledge", "var(--nobody)", ""),
    ("new with a lot", "lot", "var(--measure)", "/"),
    ("new every brew", "batch", "var(--turn)", "."),
)
_ROW = 32
_MARGINS = (16, 24, 4, 46)


def kind_bars(kinds: Sequence[KindShares]) -> style.Drawn:
    """Draw one stacked bar per outcome; parts differ by pattern and are named in the legend."""
    rows = len(kinds)
    heights = [rows - 1 - i for i in range(rows)]
    height = _ROW * rows + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, (0.0, 1.0), (-0.5, rows - 0.5), _MARGINS)
    base = [0.0] * rows
    for name, field, color, pattern in _KINDS:
        share = [getattr(kind, field) for kind in kinds]
        figure.add_bar(
            x=share,
            y=[y - 0.2 for y in heights],
            base=list(base),
            orientation="h",
            width=0.36,
            marker={
                "color": color,
                "line": {"color": style.PAPER, "width": 1.5},
                "pattern": {"shape": pattern, "fgcolor": style.PAPER, "size": 6},
            },
            name=name,
            text=[f"{name}: {percent(value)}" for value in share],
            textposition="none",
            hovertemplate="%{text}<extra></extra>",
        )
        base = [low + value for low, value in zip(base, share, strict=True)]
    figure.update_layout(barmode="overlay")
    for kind, y in zip(kinds, heights, strict=True):
        figure.add_annotation(
            x=0, y=y + 0.2, text=kind.look.title, showarrow=False, xref="x", yref="y",
            xanchor="left", yanchor="middle", font={"color": style.INK},
        )  # fmt: skip
    at = [0.0, 0.25, 0.5, 0.75, 1.0]
    style.label_x(figure, at, [percent(value) for value in at], "share of the spread")
    words = " ".join(kinds_words(k.look.title, k.knowledge, k.lot, k.batch) for k in kinds)
    return style.Drawn(figure, "What returns in every brew and what does not", words, _twin(kinds))


def legend() -> tuple[tuple[str, str], ...]:
    """Return (class of the sample, words) of the three parts, for a legend in the page."""
    return tuple((f"key-{field}", name) for name, field, _, _ in _KINDS)


def _twin(kinds: Sequence[KindShares]) -> Table:
    rows = tuple(
        (k.look.title, percent(k.knowledge), percent(k.lot), percent(k.batch)) for k in kinds
    )
    return Table("Shares of the spread by kind", ("outcome", *(k[0] for k in _KINDS)), rows)
