"""Moves from a tasted batch as a picture: one row a move, on an axis in folds of that batch."""

import math
from html import escape

from brewsim.wording.move_rows import FoldPicture, FoldRow

_WIDE, _LEFT, _RIGHT, _ROW, _TOP, _FOOT = 900, 330, 130, 44, 56, 40
_LEAST, _MOST = -4.0, 2.0
_TICKS = ((-3.0, "⅛"), (-2.0, "¼"), (-1.0, "½"), (0.0, "1"), (1.0, "2"))
_INK, _TEAL, _PAPER, _GOLD = "#222222", "#0b6e63", "#fbfaf6", "#d9c77e"


def _x(doublings: float) -> float:
    share = (min(max(doublings, _LEAST), _MOST) - _LEAST) / (_MOST - _LEAST)
    return _LEFT + share * (_WIDE - _LEFT - _RIGHT)


def _log(value: float) -> float:
    return math.log2(value) if value > 0 else _LEAST


def draw_folds(picture: FoldPicture) -> str:
    """Return the picture as one SVG file: bar same wort, line next brew, dot its middle.

    The shaded stretch is what is wished for; a fold beyond the axis stops at its end.
    """
    bottom = _TOP + _ROW * len(picture.rows)
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {bottom + _FOOT}" '
            f'font-family="sans-serif" font-size="14" fill="{_INK}" role="img">'
        ),
        f"<title>{escape(picture.title)}</title>",
        f'<rect width="100%" height="100%" fill="{_PAPER}"/>',
        _wished(picture, bottom),
        (
            f'<line x1="{_x(0):.1f}" x2="{_x(0):.1f}" y1="{_TOP - 12}" y2="{bottom}" '
            f'stroke="{_INK}" stroke-dasharray="2 4"/>'
        ),
        (
            f'<text x="{_x(0):.1f}" y="20" text-anchor="middle" font-weight="bold">'
            f"{escape(picture.start)}</text>"
        ),
    ]
    for place, row in enumerate(picture.rows):
        parts += _row(row, _TOP + _ROW * place + _ROW / 2)
    for value, label in _TICKS:
        parts.append(
            f'<text x="{_x(value):.1f}" y="{bottom + 20}" text-anchor="middle">{label}</text>'
        )
    words = escape(f"{picture.what}, times {picture.start}")
    parts.append(f'<text x="{_LEFT - 12}" y="{bottom + 20}" text-anchor="end">{words}</text>')
    return "".join(parts) + "</svg>\n"


def _wished(picture: FoldPicture, bottom: float) -> str:
    if picture.window is None:
        return ""
    low, high = (_x(end) for end in picture.window)
    return (
        f'<rect x="{low:.1f}" y="{_TOP - 12}" width="{high - low:.1f}" '
        f'height="{bottom - _TOP + 12}" fill="{_GOLD}" opacity=".5"/>'
        f'<text x="{(low + high) / 2:.1f}" y="38" text-anchor="middle">'
        f"you want: {escape(picture.wish)}</text>"
    )


def _row(row: FoldRow, y: float) -> list[str]:
    same, following = row.same, row.following
    left, right = _x(_log(same.low)), _x(_log(same.high))
    low, middle, high = (_x(_log(v)) for v in (following.low, following.middle, following.high))
    lines = [part.strip() for part in row.label.split(";")]
    first = y + 5 - 8 * (len(lines) - 1)
    return [
        *(
            f'<text x="{_LEFT - 12}" y="{first + 16 * n:.0f}" text-anchor="end">'
            f"{escape(line)}</text>"
            for n, line in enumerate(lines)
        ),
        (
            f'<rect x="{left:.1f}" y="{y - 7:.0f}" width="{max(right - left, 3):.1f}" height="14" '
            f'fill="{_TEAL}" opacity=".35"/>'
        ),
        (
            f'<line x1="{low:.1f}" x2="{high:.1f}" y1="{y:.0f}" y2="{y:.0f}" stroke="{_TEAL}" '
            'stroke-width="2"/>'
        ),
        f'<circle cx="{middle:.1f}" cy="{y:.0f}" r="6" fill="{_TEAL}"/>',
        f'<text x="{_WIDE - _RIGHT + 12}" y="{y + 5:.0f}">{escape(row.lands)}</text>',
    ]
