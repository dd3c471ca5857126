"""What was tasted, as a person entered it: words on one batch, and sittings side by side."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault, in_words

STRENGTHS = {
    "thiols": "thiol_strength_doubling",
    "hops": "hop_strength_doubling",
    "bitterness": "bitter_strength_doubling",
}
"""What tasters are asked about, and the quantity behind it on the scale they compare on."""

HIDDEN_BY = {"hops": "hop_hiding_doubling"}
"""What is perceived weaker behind something else, and the quantity that hides it."""

NOT_COMPUTED = ("malt", "body", "sweetness")
IN_FRONT = "in_front"
BLEND_KEYS = ("beer", "with", "tried", "just_right")
SITTING_LISTS = ("pairs", "order", "odd_one_out", "two_and_two")
_TASTED_KEYS = (*STRENGTHS, IN_FRONT, *NOT_COMPUTED)
_SITTING_KEYS = ("date", "of", "tasters", *SITTING_LISTS, "blend")

Say = Callable[[int, str], None]
DateReader = Callable[[object, int, Any], str]


@dataclass(frozen=True)
class Tasted:
    """What people said of one batch: attribute -> their words, texts only."""

    words: Mapping[str, Written] = field(default_factory=dict)
    tasters: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sitting:
    """One tasting side by side: texts only, so that it can be written down again."""

    lists: Mapping[str, tuple[Written, ...]] = field(default_factory=dict)
    blends: tuple[Mapping[str, Written], ...] = ()
    of: str = "thiols"
    date: str = ""
    tasters: tuple[str, ...] = ()
    line: int = 0


def tasters_of(written: object, say: Say) -> tuple[str, ...]:
    """Return the names of the tasters in order; `say` takes a fault's line and text."""
    if written is None:
        return ()
    if not isinstance(written, list) or not all(isinstance(w, Written) for w in written):
        say(line_of(written), 'write tasters = ["Ada", "Ben", "Cora"]')
        return ()
    names = [" ".join(str(name).split()) for name in written]
    for place, (name, at) in enumerate(zip(names, written, strict=True)):
        if not name or name in names[:place]:
            told = f"taster {name} is there twice; keep one" if name else "a taster has no name"
            say(line_of(at), told)
    return tuple(dict.fromkeys(name for name in names if name))


def tasted_of(table: object, tasters: Sequence[str], line: int, say: Say) -> Tasted:
    """Return what was said of a batch; `say` takes a fault's line and text."""
    if table is None:
        return Tasted()
    if not isinstance(table, dict):
        say(line_of(table) or line, 'tasted: write [batch.tasted] and thiols = "too much" below it')
        return Tasted()
    found: dict[str, Written] = {}
    faults: list[Fault] = []
    own = tasters_of(table.get("tasters"), lambda at, told: faults.append((at, told)))
    for at, told in faults:
        say(at or line, f"tasted: {told}")
    for key, value in table.items():
        if key in (LINE_KEY, "tasters"):
            continue
        if key not in _TASTED_KEYS:
            near = did_you_mean(key, _TASTED_KEYS) or f" There is: {', '.join(_TASTED_KEYS)}."
            say(line_of(value) or line, f"tasted {key}: nobody can be asked about it.{near}")
        elif not isinstance(value, Written):
            say(line, f'tasted {key}: write one text in quotes, such as "too much, just right"')
        else:
            found[key] = value
    return Tasted({} if faults else found, own or tuple(tasters))


def sittings_of(
    rows: object,
    tasters: Sequence[str],
    date_of: DateReader,
    faults: list[Fault],
) -> tuple[Sitting, ...]:
    """Return the [[tasting]] tables; `date_of` reads a date as a batch's is read."""
    if rows is None:
        return ()
    if not isinstance(rows, list):
        line = line_of(rows)
        faults.append((line, in_words(line, "tasting", "write [[tasting]] and its lines below it")))
        return ()
    return tuple(
        sitting for row in rows if (sitting := _sitting(row, tasters, date_of, faults)) is not None
    )


def _sitting(
    row: object,
    tasters: Sequence[str],
    date_of: DateReader,
    faults: list[Fault],
) -> Sitting | None:
    def say(at: int, what: str) -> None:
        faults.append((at, in_words(at, "tasting", what)))

    if not isinstance(row, dict):
        say(line_of(row), "write [[tasting]] and its lines below it")
        return None
    line, before = int(row.get(LINE_KEY, 0)), len(faults)
    for key, value in row.items():
        if key not in (*_SITTING_KEYS, LINE_KEY):
            near = did_you_mean(key, _SITTING_KEYS) or f" There is: {', '.join(_SITTING_KEYS)}."
            say(line_of(value) or line, f"{key} is no key of it.{near}")
    of = str(row.get("of", "thiols"))
    if of not in STRENGTHS:
        near = did_you_mean(of, STRENGTHS) or f" There is: {', '.join(STRENGTHS)}."
        say(line_of(row["of"]) or line, f"of = “{of}”: nothing here computes it.{near}")
        return None
    date = date_of(row["date"], line, say) if "date" in row else ""
    own = tasters_of(row.get("tasters"), say)
    lists = {key: _texts(row[key], key, line, say) for key in SITTING_LISTS if key in row}
    blends = _blends(row.get("blend"), line, say)
    if not any(lists.values()) and not blends:
        if len(faults) == before:
            say(line, f"nothing was compared; write {', '.join(SITTING_LISTS)} or blend")
        return None
    return Sitting(lists, blends, of, date, own or tuple(tasters), line)


def _texts(value: object, key: str, line: int, say: Say) -> tuple[Written, ...]:
    texts = [value] if isinstance(value, Written) else value
    if not isinstance(texts, list) or not all(isinstance(text, Written) for text in texts):
        say(line, f'{key}: write a list of texts in quotes, such as ["G1 > G2: 3 of 3"]')
        return ()
    return tuple(texts)


def _blends(value: object, line: int, say: Say) -> tuple[Mapping[str, Written], ...]:
    rows = value if isinstance(value, list) else [] if value is None else [value]
    found = []
    for row in rows:
        if not isinstance(row, dict):
            say(line_of(row) or line, 'blend: write { beer = "G1", with = "plain lager", ... }')
            continue
        strange = [key for key in row if key not in (*BLEND_KEYS, LINE_KEY)]
        missing = [key for key in BLEND_KEYS if key not in row]
        texts = {key: value for key, value in row.items() if key in BLEND_KEYS}
        if strange:
            near = did_you_mean(strange[0], BLEND_KEYS) or f" There is: {', '.join(BLEND_KEYS)}."
            say(line, f"blend: {strange[0]} is no key of it.{near}")
        elif missing:
            why = ": what was not tried cannot be chosen" if "tried" in missing else ""
            say(line, f"blend: {', '.join(missing)} missing{why}")
        elif not all(isinstance(text, Written) for text in texts.values()):
            say(line, "blend: write each of its parts as one text in quotes")
        else:
            found.append(texts)
    return tuple(found)
