"""The brew-day card in words: one sheet with what to do, what to read, and what if it is off."""

from collections.abc import Iterator

import numpy as np

from brewsim.answers import brew_card as figures
from brewsim.answers.brew_card import BrewCard
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import in_unit, number, span, value, with_unit
from brewsim.quantities.format import shown as shown_in
from brewsim.recipe.schema import Hop, Recipe
from brewsim.study.model.problem import Problem
from brewsim.wording.card_numbers import CardNumbers
from brewsim.wording.card_parts import Blank, BrewDayCard, CardRow
from brewsim.wording.card_table import correction_table

PRACTICE = "*"
"""Marks what is common practice without a source."""
Do = tuple[str, bool, bool]


def brew_day_card(
    recipe: Recipe,
    problem: Problem,
    card: BrewCard,
    *,
    expect: str = "",
    caution: str = "",
    version: str = "",
    seed: int = 1,
    advice: str = "",
) -> BrewDayCard:
    """Return the card of a recipe; `expect`, `caution` and `advice` are sentences of its page."""
    told = _Rows(recipe, problem, card)
    rows = [
        *told.mash(),
        *told.sparge(),
        *told.souring(),
        *told.boil(),
        *told.after_the_boil(advice),
        *told.fermenter(),
        *told.dry_hops(),
        *told.package(),
        *told.taste(),
    ]
    title, table, go, note = correction_table(card, told)
    hot = "Hot wort scalds; " if recipe.malt or recipe.sugar else ""
    safety = f"{hot}carbon dioxide collects low down: air the room. {caution}".strip()
    about = (
        f"{PRACTICE} common practice, no source. Nine in ten between two figures. Cold volumes at "
        f"{told.temperature(20.0)}. brewsim {version}, seed {seed}."
    )
    foot = (expect, safety[:1].upper() + safety[1:], about)
    return BrewDayCard(
        recipe.name,
        told.volume("wanted", recipe.volume.value),
        tuple(rows),
        title,
        table,
        go,
        note,
        tuple(line for line in foot if line),
    )


def expected(problem: Problem, card: BrewCard) -> str:
    """Return what to expect of the batch in one line, from the card's own figures."""
    told = []
    for name in (figures.START, figures.FINISH, "alcohol_by_volume_fraction"):
        found = card.figures.get(name)
        if found is not None and np.isfinite(found.value):
            row = outcome_of(name, problem.units)
            middle = with_unit(row, value(row, found.value))
            told.append(f"{row.label} {middle} ({span(row, found.low, found.high)})")
    return f"Expect {', '.join(told)}." if told else ""


def caution_of(recipe: Recipe) -> str:
    """Return the caution of a card that was made without its page."""
    if recipe.package.container == "bottle":
        return "Bottles can burst: bottle only on a forced-ferment result."
    return "Keg only. Bottles were not asked about."


class _Rows(CardNumbers):
    """The steps of a brew day as rows of the card."""

    def mash(self) -> Iterator[CardRow]:
        water, strike = self.find(figures.WATER), self.find(figures.STRIKE)
        if not self.recipe.malt or water is None:
            return
        malts = ", ".join(f"{m.name} {self.amount(m.mass)}" for m in self.recipe.malt)
        heat = f" at {self.temperature(strike.value)}" if strike is not None else ""
        do = [(f"{self.volume(figures.WATER, water.value)}{heat}", True, False)]
        do += [(malts, False, False), *self.hops("mash"), *self.doses("mash")]
        go = []
        wanted = self.find(figures.MASH)
        if wanted is not None:
            go = [f"{self.temperature(wanted.value)}, {self.span('mash_temperature_c')}."]
            go += [self._hotter(), f"Correct within 15 min{PRACTICE}."]
        read = (Blank("mash_temperature", "after 10 min", self.degrees, self.degrees),)
        yield CardRow("Mash", tuple(do), read, tuple(line for line in go if line))

    def _hotter(self) -> str:
        change = self.card.per_degree
        finish = change.get(figures.FINISH)
        strength = change.get("alcohol_by_volume_fraction")
        if finish is None or strength is None:
            return ""
        step = 5 / 9 if self.degrees == "°F" else 1.0
        less = "less" if strength < 0 else "more"
        more = "more" if finish > 0 else "less"
        return (
            f"Each {self.degrees} hotter: {number(abs(100 * strength * step), 2)} % ABV {less}, "
            f"final gravity {number(abs(finish * step), 4 if step < 1 else 3)} {more}."
        )

    def sparge(self) -> Iterator[CardRow]:
        before = self.find(figures.BEFORE_BOIL)
        if before is None:
            return
        water = self.find(figures.SPARGE)
        do: list[Do] = []
        if water is not None and water.value > 0 and self.recipe.malt:
            do = [(f"{self.volume(figures.SPARGE, water.value)} of water", True, False)]
        cold, hot = (self.volume("", before.value * f) for f in (1.0, self.hot))
        go = [f"{cold} cold ({hot.split()[0]} hot), {self.span(figures.BEFORE_BOIL)}."]
        read = [Blank("preboil_volume", "kettle", self.litres, self.litres)]
        gravity = self.find(figures.BEFORE_GRAVITY)
        if gravity is not None:
            told = self.bare(figures.BEFORE_GRAVITY, gravity.value)
            table = " Else see the table." if self.card.corrections else ""
            go.append(f"{told}, {self.span(figures.BEFORE_GRAVITY)}.{table}")
            read.append(Blank("preboil_gravity", "gravity", ""))
        yield CardRow("Sparge" if do else "Kettle", tuple(do), tuple(read), tuple(go))

    def souring(self) -> Iterator[CardRow]:
        if (wanted := self.recipe.souring) is not None:
            told = f"to pH {number(wanted.value, 1)}"
            yield CardRow("Sour", ((told, True, False),), (Blank("", "pH", ""),), ("Then boil.",))

    def boil(self) -> Iterator[CardRow]:
        after = self.find(figures.AFTER_BOIL)
        minutes = self.recipe.boil.value
        do = [
            *self.hops("first wort"),
            *self.hops("boil"),
            *(
                (f"{s.name} {self.amount(s.mass)}, {s.when}", False, True)
                for s in self.recipe.sugar
                if s.when != "fermenter"
            ),
            *self.doses("boil"),
        ]
        go: list[str] = []
        if after is not None:
            cold, hot = (self.volume("", after.value * f) for f in (1.0, self.hot))
            go = [f"{cold} cold ({hot.split()[0]} hot), {self.span(figures.AFTER_BOIL)}."]
        read = (Blank("postboil_volume", "at the end", self.litres, self.litres),)
        yield CardRow(f"Boil {number(minutes, 0)} min", tuple(do), read, tuple(go))

    def after_the_boil(self, advice: str) -> Iterator[CardRow]:
        flameout = self.hops("flameout")
        if flameout:
            yield CardRow("Flameout", tuple(flameout))
        stand = [h for h in self.recipe.hop if h.when.step == "whirlpool"]
        doses = self.doses("whirlpool")
        if not stand and not doses:
            return
        do: list[Do] = []
        read: tuple[Blank, ...] = ()
        if stand:
            first = stand[0].when
            parts = [self.amount(one) for one in (first.temperature, first.time) if one is not None]
            do = [(", ".join(parts), True, False)] if parts else []
            read = (Blank("", "start", self.degrees),)
        do += [*self.hops("whirlpool"), *doses]
        yield CardRow("Whirlpool", tuple(do), read, (advice,) if advice else ())

    def fermenter(self) -> Iterator[CardRow]:
        volume, start = self.find(figures.INTO_FERMENTER), self.find(figures.START)
        yeast = self.recipe.yeast
        warm = self.find("fermentation_temperature_c")
        do: list[Do] = []
        if warm is not None:
            do.append((self.temperature(warm.value), True, False))
        if yeast.name:
            do.append((yeast.name, False, True))
        do += [
            (f"{s.name} {self.amount(s.mass)}", False, True)
            for s in self.recipe.sugar
            if s.when == "fermenter"
        ]
        do += self.doses("fermentation")
        go, read = [], []
        if volume is not None:
            go.append(f"{self.volume('', volume.value)}, {self.span(figures.INTO_FERMENTER)}.")
            read.append(Blank("fermenter_volume", "", self.litres, self.litres))
        if start is not None:
            told = self.bare(figures.START, start.value)
            go.append(f"{told}, {self.span(figures.START)}. Else note it, change nothing.")
            read.append(Blank("original_gravity", "gravity", f"at {self.temperature(20.0)}"))
        yield CardRow("Fermenter", tuple(do), tuple(read), tuple(go))

    def dose(self, grams_per_litre: float) -> str:
        """Return a dose in g/L, and in oz per gallon where the recipe is in gallons."""
        told = f"{number(grams_per_litre, 1)} g/L"
        if self.litres != "US gal":
            return told
        return f"{told} ({number(in_unit(grams_per_litre, 'g/L', 'oz/US gal'), 2)} oz/US gal)"

    def dry_hops(self) -> Iterator[CardRow]:
        days: dict[str, list[Do]] = {}
        for hop in self.recipe.hop:
            if hop.when.step != "dry hop":
                continue
            day = f"Day {number(hop.when.day, 0)}" if hop.when.day is not None else "Dry hop"
            parts = [self.amount(one) for one in (hop.when.time, hop.when.temperature) if one]
            told = f", {' at '.join(parts)}" if parts else ""
            days.setdefault(day, []).append((f"{_named(hop)} {self.grams(hop)}{told}", False, True))
        for day, do in days.items():
            yield CardRow(day, tuple(do), (), (f"Keep air out{PRACTICE}.",))

    def package(self) -> Iterator[CardRow]:
        finish, gas = self.find(figures.FINISH), self.find(figures.GAS)
        bottle = self.recipe.package.container == "bottle"
        do: list[Do] = []
        if gas is not None:
            do.append((f"{number(gas.value, 1)} volumes of CO₂", True, False))
        sugar = self.find(figures.PRIMING)
        if bottle and sugar is not None and sugar.value > 0:
            do.append((f"priming sugar {self.dose(sugar.value)} of beer", True, True))
        storage = self.recipe.package.storage
        if storage is not None:
            parts = [self.amount(one) for one in (storage.time, storage.temperature) if one]
            do.append((" at ".join(parts), False, False))
        go: list[str] = []
        read: tuple[Blank, ...] = ()
        if finish is not None:
            told, high = (self.bare(figures.FINISH, v) for v in (finish.value, finish.high))
            late = f"Higher than {high}: warm up, wait{PRACTICE}."
            last = (
                "Bottle only when a forced-ferment sample reads the same."
                if bottle
                else "Do not bottle."
            )
            go = [f"{told}, {self.span(figures.FINISH)}.", late, last]
            read = (Blank("final_gravity", "gravity", f"twice, 3 days apart{PRACTICE}"),)
        yield CardRow("Bottle" if bottle else "Keg", tuple(do), read, tuple(go))

    def taste(self) -> Iterator[CardRow]:
        aimed = {n for n in self.problem.targets if "thiol" in n or n.startswith("free_")}
        if not aimed:
            return
        do = (("Who tells this beer by its thiols?", False, False),)
        read = (Blank("tasters", "", "of ______ tasters"),)
        yield CardRow("Taste", do, read, ("Count blind tasters: one vote each.",))

    def hops(self, step: str) -> list[Do]:
        """Return the hops of a step, each with a box to tick."""
        found = []
        for hop in self.recipe.hop:
            if hop.when.step != step:
                continue
            time = hop.when.time
            left = ""
            if step == "boil" and time is not None:
                start = time.value >= self.recipe.boil.value
                left = "at the start: " if start else f"{number(time.value, 0)} min left: "
            if step == "first wort":
                left = "first wort: "
            found.append((f"{left}{_named(hop)} {self.grams(hop)}", False, True))
        return found

    def doses(self, step: str) -> list[Do]:
        """Return the thiol precursors of a step, weighed for the whole batch."""
        found = []
        for one in self.recipe.precursor:
            if one.when.step != step:
                continue
            litres = self.recipe.volume.value
            grams = one.mass.value if one.mass is not None else 0.0
            if one.dose is not None:
                grams = one.dose.value * litres
            written = f" ({self.amount(one.dose)})" if one.dose is not None else ""
            weighed = shown_in(grams, "g", "g", twin=False)
            found.append((f"{one.name} {weighed}{written}", False, True))
        return found


def _named(hop: Hop) -> str:
    return f"{hop.variety} {hop.lot}".strip()
