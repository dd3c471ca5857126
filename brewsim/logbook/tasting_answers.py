"""Answers of tasters out of their words: which batch, whose, and what the words can mean."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from brewsim.errors import did_you_mean
from brewsim.logbook.readings import COUNT
from brewsim.logbook.tasting_entries import (
    HIDDEN_BY,
    IN_FRONT,
    NOT_COMPUTED,
    STRENGTHS,
    Sitting,
    Tasted,
)
from brewsim.quantities.statement import Written
from brewsim.study.inference.panel import Panel
from brewsim.study.inference.sensory_answers import (
    Difference,
    InFront,
    Ladder,
    Pair,
    Ranking,
    Word,
)
from brewsim.study.model.batch import Answer, Cup

WORDS = ("far too little", "too little", "just right", "too much", "far too much")
_NOBODY = ("-", "–", "—", "")
_MOST_ANSWERS = 24
_MOST_IN_ORDER = 5
_PLAIN = "plain"
_PAIR = re.compile(r"(.+?)\s*>\s*(.+?)\s*:\s*(.+)")
_ODD = re.compile(r"(.+?)\s*,\s*(.+?)\s*:\s*(.+)")
_SHARE = re.compile(r"([0-9]{1,6})\s*/\s*([0-9]{1,6})|([0-9]{1,6}(?:\.[0-9]{1,6})?)\s*(%)?")

Refuse = Callable[[Written, str], None]
"""Takes a text that cannot be read, and why."""


def by_taster(text: Written, tasters: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Yield (taster, word) of a text with one word a taster, those who said nothing left out.

    Raises ValueError where the words do not fit the tasters.
    """
    words = [" ".join(part.lower().split()) for part in str(text).split(",")]
    if tasters and len(words) > len(tasters):
        raise ValueError(
            f"has {len(words)} words for {_people(tasters)}; name all tasters, in the order of "
            "their words"
        )
    if tasters and len(words) < len(tasters):
        raise ValueError(
            f"has {_count(len(words), 'word')} for {_people(tasters)}; write - for who said nothing"
        )
    if len(words) > _MOST_ANSWERS:
        raise ValueError(f"has {len(words)} words; {_MOST_ANSWERS} are the most")
    for place, word in enumerate(words):
        if word not in _NOBODY:
            yield (tasters[place] if tasters else ""), word


def _people(tasters: Sequence[str]) -> str:
    return f"{_count(len(tasters), 'taster')} ({', '.join(tasters)})"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def answers_of_batch(
    batch: str, tasted: Tasted, panel: Panel, refuse: Refuse
) -> tuple[Answer, ...]:
    """Return the answers in the words on one batch; those on what nothing computes are left out."""
    found: list[Answer] = []
    for attribute, text in tasted.words.items():
        if attribute in NOT_COMPUTED:
            continue
        try:
            for taster, word in by_taster(text, tasted.tasters):
                if attribute != IN_FRONT:
                    found.append(_word(batch, attribute, taster, word, panel))
                elif word not in NOT_COMPUTED:
                    found.append(_in_front(batch, taster, word, panel))
        except ValueError as error:
            refuse(text, f"tasted {attribute}: “{text}” {error}")
    return tuple(found)


def _word(batch: str, attribute: str, taster: str, word: str, panel: Panel) -> Word:
    if word not in WORDS:
        near = did_you_mean(word, WORDS) or f" There is: {', '.join(WORDS)}."
        raise ValueError(f"has “{word}”, which is none of the five words.{near}")
    hiding = (HIDDEN_BY[attribute],) if attribute in HIDDEN_BY else ()
    cups: tuple[Cup, ...] = tuple((batch, q) for q in (STRENGTHS[attribute], *hiding))
    return Word(
        cups=cups,
        panel=panel,
        taster=taster,
        label=f"{attribute} of {batch}",
        attribute=attribute,
        place=WORDS.index(word),
    )


def _in_front(batch: str, taster: str, word: str, panel: Panel) -> InFront:
    known = tuple(STRENGTHS)
    if word not in known:
        near = did_you_mean(word, (*known, *NOT_COMPUTED)) or f" There is: {', '.join(known)}."
        raise ValueError(f"has “{word}”, which nobody can name as standing in front.{near}")
    return InFront(
        cups=tuple((batch, quantity) for quantity in STRENGTHS.values()),
        panel=panel,
        taster=taster,
        label=f"in front in {batch}",
        attributes=known,
        chosen=known.index(word),
    )


@dataclass(frozen=True)
class SittingReader:
    """Reads the texts of one sitting; `batches` are those of the log."""

    sitting: Sitting
    batches: Sequence[str]
    panel: Panel

    def answers(self, refuse: Refuse) -> Iterator[Answer]:
        """Yield every answer of the sitting; `refuse` takes what cannot be read."""
        lists: Mapping[str, Callable[[Written], Answer]] = {
            "pairs": self._pair,
            "odd_one_out": lambda text: self._difference(text, "triangle"),
            "two_and_two": lambda text: self._difference(text, "tetrad"),
        }
        for key, texts in self.sitting.lists.items():
            if key == "order":
                yield from self._orders(texts, refuse)
                continue
            for text in texts:
                try:
                    yield lists[key](text)
                except ValueError as error:
                    refuse(text, f"{key}: “{text}” {error}")
        for blend in self.sitting.blends:
            try:
                yield from self._ladders(blend)
            except ValueError as error:
                refuse(blend["just_right"], f"blend of {blend['beer']}: {error}")

    def _cup(self, name: str) -> Cup:
        beer = " ".join(name.split())
        if beer not in self.batches:
            near = did_you_mean(beer, self.batches) or f" There is: {', '.join(self.batches)}."
            raise ValueError(f"names “{beer}”, which is no batch of this log.{near}")
        return beer, STRENGTHS[self.sitting.of]

    def _two(self, first: str, second: str) -> tuple[Cup, Cup]:
        cups = self._cup(first), self._cup(second)
        if cups[0] == cups[1]:
            raise ValueError("names one beer twice")
        return cups

    def _pair(self, text: Written) -> Pair:
        match = _PAIR.fullmatch(str(text).strip())
        if match is None:
            raise ValueError("is not read; write the stronger beer first, such as G1 > G2: 3 of 3")
        count, asked = _counted(match[3])
        return Pair(
            cups=self._two(match[1], match[2]),
            panel=self.panel,
            label=f"{match[1]} against {match[2]}",
            count=count,
            asked=asked,
        )

    def _difference(self, text: Written, method: str) -> Difference:
        match = _ODD.fullmatch(str(text).strip())
        if match is None:
            raise ValueError("is not read; write two beers and how many were right, G1, G2: 4 of 6")
        count, asked = _counted(match[3])
        return Difference(
            cups=self._two(match[1], match[2]),
            panel=self.panel,
            label=f"{match[1]} and {match[2]} apart",
            count=count,
            asked=asked,
            method="triangle" if method == "triangle" else "tetrad",
        )

    def _orders(self, texts: Sequence[Written], refuse: Refuse) -> Iterator[Ranking]:
        tasters = self.sitting.tasters
        if tasters and len(texts) != len(tasters):
            told = f"order: has {_count(len(texts), 'order')} for {_people(tasters)}; write one a "
            refuse(texts[0], f'{told}taster, "-" for who gave none')
            return
        for place, text in enumerate(texts):
            if str(text).strip() in _NOBODY:
                continue
            try:
                yield self._order(text, tasters[place] if tasters else "")
            except ValueError as error:
                refuse(text, f"order: “{text}” {error}")

    def _order(self, text: Written, taster: str) -> Ranking:
        groups = [[" ".join(n.split()) for n in g.split("=")] for g in str(text).split(">")]
        names = [name for group in groups for name in group]
        if len(names) < 2:
            raise ValueError("is no order; write G1 > G3 = G2, the strongest first")
        if len(names) > _MOST_IN_ORDER:
            raise ValueError(f"has {len(names)} beers; {_MOST_IN_ORDER} are the most")
        cups = tuple(self._cup(name) for name in sorted(set(names)))
        if len(cups) < len(names):
            raise ValueError("names one beer twice")
        index = {name: place for place, (name, _) in enumerate(cups)}
        places = tuple(tuple(sorted(index[name] for name in group)) for group in groups)
        label = f"order of {', '.join(index)}"
        return Ranking(cups=cups, panel=self.panel, taster=taster, label=label, places=places)

    def _ladders(self, blend: Mapping[str, Written]) -> Iterator[Ladder]:
        beer = self._cup(blend["beer"])
        other = " ".join(str(blend["with"]).split())
        plain = () if other.lower().startswith(_PLAIN) else (self._with(other),)
        if beer in plain:
            raise ValueError("names one beer twice")
        shares = [_share(part) for part in str(blend["tried"]).split(",")]
        if len(shares) < 2 or sorted(set(shares)) != shares:
            raise ValueError(
                f"tried “{blend['tried']}”: write at least two shares of {beer[0]}, rising, such "
                "as 1/4, 1/2, 1"
            )
        for taster, word in by_taster(blend["just_right"], self.sitting.tasters):
            share = _share(word)
            if share not in shares:
                tried = ", ".join(str(one) for one in shares)
                raise ValueError(f"just_right “{word}” was not tried; tried were {tried}")
            yield Ladder(
                cups=(beer, *plain),
                panel=self.panel,
                taster=taster,
                label=f"blend of {beer[0]}",
                attribute=self.sitting.of,
                place=shares.index(share),
                shares=tuple(map(float, shares)),
            )

    def _with(self, other: str) -> Cup:
        try:
            return self._cup(other)
        except ValueError as error:
            raise ValueError(
                f"with “{other}”: {error} Of a beer without thiols, write plain lager"
            ) from None


def _counted(text: str) -> tuple[int, int]:
    match = COUNT.fullmatch(text)
    if match is None:
        raise ValueError(f"has no count in “{text}”; write how many of how many, such as 3 of 3")
    count, asked = int(match[1]), int(match[2])
    if count > asked or not asked:
        raise ValueError(f"counts {count} of {asked}, which cannot be")
    return count, asked


def _share(text: str) -> Fraction:
    match = _SHARE.fullmatch(text.strip())
    if match is None or (match[2] and int(match[2]) == 0):
        raise ValueError(f"“{text.strip()}” is no share; write 1/4, 0.25 or 25 %")
    if match[1]:
        share = Fraction(int(match[1]), int(match[2]))
    else:
        share = Fraction(match[3]) / (100 if match[4] else 1)
    if share > 1:
        raise ValueError(f"“{text.strip()}” is more than the whole; a share is 0 to 1")
    return share
