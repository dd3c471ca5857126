"""Output on terminals and pipes that cannot hold every letter: near ones in their place."""

import codecs
import sys
from io import TextIOWrapper
from unicodedata import combining, normalize

_HANDLER = "brewsim-near"
_NEAR = {
    "│": "|",
    "━": "-",
    "┿": "+",
    "–": "-",
    "−": "-",
    "‑": "-",
    "“": '"',
    "”": '"',
    "‘": "'",
    "’": "'",
    "…": "...",
    "×": "x",
    "±": "+-",
    "≤": "<=",
    "≥": ">=",
    "≈": "~",
    "→": "->",
    "←": "<-",
    "↑": "^",
    "↓": "v",
    "µ": "u",
    "μ": "u",
    "°": "deg ",
    "·": ".",
    "•": "*",
    "β": "beta",
    "α": "alpha",
    "ß": "ss",
    "\u00a0": " ",
    "\u202f": " ",
    "\u2009": " ",
}


def near(letter: str) -> str:
    """Return the nearest ASCII text of a letter, a question mark where there is none."""
    parts = normalize("NFKD", letter).replace("⁄", "/")
    bare = "".join(part for part in parts if not combining(part))
    return _NEAR.get(letter) or (bare if bare.isascii() and bare else "?")


def _replaced(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(near, error.object[error.start : error.end])), error.end


def tolerate_old_encodings() -> None:
    """Let both output streams write near letters for those that their encoding lacks."""
    codecs.register_error(_HANDLER, _replaced)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper) and not holds_everything(stream.encoding):
            stream.reconfigure(errors=_HANDLER)


def holds_everything(encoding: str | None) -> bool:
    """Whether an encoding has every letter; None is a stream without bytes."""
    return encoding is None or codecs.lookup(encoding).name.startswith("utf")


def printable(text: str) -> str:
    """Return a text with the characters that steer a terminal shown instead of obeyed."""
    if text.isprintable():
        return text
    return "".join(c if c in "\n\t" or c.isprintable() else _seen(c) for c in text)


def _seen(character: str) -> str:
    """Return a space as it is, whatever its width, and the code of what cannot be printed."""
    if character.isspace() and ord(character) > 0x9F and character not in "\u2028\u2029":
        return character
    return character.encode("unicode_escape").decode()
