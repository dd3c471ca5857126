"""A new lot of a hop: the masses that keep the bitterness, and what is left as it was."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from brewsim.errors import InputError, did_you_mean
from brewsim.priors.library import Priors, folded
from brewsim.quantities.format import bare, default_unit, in_unit
from brewsim.quantities.numerals import rounded
from brewsim.quantities.statement import Stated, scaled
from brewsim.recipe.edits import swapped
from brewsim.recipe.measures import read_alpha
from brewsim.recipe.schema import Hop, Recipe

BITTERING = ("first wort", "boil")
"""Additions dosed for their bitterness; mash, late and dry hops are dosed for something else."""


@dataclass(frozen=True)
class Addition:
    """One addition of the lot: what was weighed, what to weigh now, and whether it was scaled."""

    number: int
    variety: str
    when: str
    before: str
    after: str
    scaled: bool


@dataclass(frozen=True)
class NewLot:
    """The recipe with the new lot in it, rescaled and not, and each addition of the lot."""

    recipe: Recipe
    unscaled: Recipe
    additions: tuple[Addition, ...]
    old_alpha: float
    new_alpha: float
    remarks: tuple[str, ...]

    @property
    def factor(self) -> float:
        """New mass over old mass of a scaled addition: old alpha over new alpha."""
        return self.old_alpha / self.new_alpha


def new_lot(
    recipe: Recipe, lot: str, alpha: str, priors: Priors, *, name: str = "", every: bool = False
) -> NewLot:
    """Return the recipe with another lot of a hop.

    `lot` is the name of the old lot, or the variety where it names none; `alpha` the new pack's
    alpha acid. First-wort and boil additions are rescaled by old alpha over new alpha, which keeps
    the alpha acid they dose (common practice, no source); with `every`, all additions of the lot.
    Raises InputError for a lot the recipe does not have or an alpha that cannot be read.
    """
    members = _members(recipe, lot)
    new = _alpha(recipe, alpha)
    old = _old_alpha(recipe, members, priors)
    additions, scaled, plain = [], list(recipe.hop), list(recipe.hop)
    for number in members:
        hop = recipe.hop[number]
        grows = every or hop.when.step in BITTERING
        plain[number] = _swapped(hop, new, name or f"{hop.lot or hop.variety} new", 1.0)
        scaled[number] = _rescaled(plain[number], old / new.value if grows else 1.0)
        additions.append(
            Addition(
                number + 1,
                hop.variety,
                hop.when.text or hop.when.step,
                _amount(hop),
                _amount(scaled[number]),
                grows,
            )
        )
    return NewLot(
        recipe.model_copy(update={"hop": tuple(scaled)}),
        recipe.model_copy(update={"hop": tuple(plain)}),
        tuple(additions),
        old,
        new.value,
        tuple(_remarks(recipe, members, additions)),
    )


def _members(recipe: Recipe, lot: str) -> list[int]:
    """Return the places of the additions of a lot; a variety's name stands for all its hops."""
    wanted = folded(lot)
    found = [i for i, hop in enumerate(recipe.hop) if hop.lot and folded(hop.lot) == wanted]
    found = found or [i for i, hop in enumerate(recipe.hop) if folded(hop.variety) == wanted]
    if not found:
        known = [hop.lot for hop in recipe.hop if hop.lot] + [hop.variety for hop in recipe.hop]
        known = list(dict.fromkeys(known))
        near = did_you_mean(lot, known) or f" There is: {', '.join(known) or 'no hop'}."
        raise InputError(
            recipe.name, [f"no hop of this recipe is of lot or variety “{lot}”.{near}"]
        )
    lots = {hop.lot for hop in (recipe.hop[i] for i in found)}
    if len(lots) > 1:
        told = ", ".join(sorted(name or "one without a name" for name in lots))
        raise InputError(recipe.name, [f"“{lot}” is in several lots ({told}); name one of them"])
    return found


def _alpha(recipe: Recipe, text: str) -> Stated:
    try:
        return read_alpha(text)
    except ValueError as error:
        raise InputError(recipe.name, [f"alpha of the new lot, “{text}”: {error}"]) from None


def _old_alpha(recipe: Recipe, members: list[int], priors: Priors) -> float:
    for number in members:
        stated = recipe.hop[number].alpha
        if stated is not None:
            return stated.value
    variety = recipe.hop[members[0]].variety
    entry = priors.find("hop_lot", variety)
    prior = priors.of(entry, "stated_alpha_fraction") if entry is not None else None
    if prior is None:
        fault = f"{variety}: the alpha acid of the old lot is not stated; state it in the recipe"
        raise InputError(recipe.name, [fault])
    return prior.value


def _swapped(hop: Hop, alpha: Stated, name: str, factor: float) -> Hop:
    """Return an addition from the new lot, whose age is not known, weighed as the old one."""
    return _rescaled(swapped(hop, alpha=alpha, lot=name), factor)


def _rescaled(hop: Hop, factor: float) -> Hop:
    if factor == 1.0:
        return hop
    return hop.model_copy(
        update={"mass": _times(hop.mass, factor), "rate": _times(hop.rate, factor)}
    )


def _times(stated: Stated | None, factor: float) -> Stated | None:
    if stated is None:
        return None
    moved = scaled(stated, factor)
    return replace(moved, text=_in_words(moved))


def _amount(hop: Hop) -> str:
    stated = hop.mass or hop.rate
    return "" if stated is None else _in_words(stated)


def _in_words(stated: Stated) -> str:
    unit = stated.unit or default_unit(stated.model_unit)
    return f"{bare(rounded(in_unit(stated.value, stated.model_unit, unit), 3))} {unit}"


def _remarks(recipe: Recipe, members: list[int], additions: list[Addition]) -> Iterator[str]:
    left = [f"hop {a.number} ({a.when})" for a in additions if not a.scaled]
    if left:
        verb = "was" if len(left) == 1 else "were"
        yield (
            f"{', '.join(left)} {verb} left as weighed: mash, late and dry hops are dosed for"
            " aroma or bound thiols, not for alpha acid. With --all they are rescaled too."
        )
    if any(a.scaled and a.when.split()[0] not in ("boil", "first") for a in additions):
        yield "Mash, late or dry hops were rescaled as well: their aroma and thiols move with them."
    if any(recipe.hop[i].age is not None or recipe.hop[i].harvest for i in members):
        yield "The age of the new lot is not known here: state it in the recipe if it matters."
