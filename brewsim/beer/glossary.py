"""Reference, generated: every quantity with its formula, every prior in words."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from brewsim.beer.assumptions import kinds_in_words, spread_in_words
from brewsim.beer.trace import equation_of, source_of
from brewsim.beer_graph import module_of, stage_modules
from brewsim.errors import InputError, did_you_mean
from brewsim.graph.build import formulas_in, inputs_in
from brewsim.priors.library import Prior, Priors, load_priors
from brewsim.quantities.format import bare
from brewsim.units import unit_of


@dataclass(frozen=True)
class Entry:
    """One quantity of the glossary."""

    name: str
    unit: str
    label: str
    equation: str
    source: str
    stage: str


def entries() -> list[Entry]:
    """Return every quantity, variants included, stage by stage of the brew day."""
    found = []
    priors = load_priors()
    for path in stage_modules():
        module, stage = module_of(path), path.rpartition(".")[2]
        for name, given in inputs_in(module).items():
            prior = priors.scalar(name)
            source = "given: stated by the recipe"
            if prior is not None:
                source = f"given: {prior.grade}; {priors.source_text(prior.source)}"
            found.append(Entry(name, unit_of(name) or "", given.label, "", source, stage))
        for formula in formulas_in(module):
            label = (formula.__doc__ or "").partition("\n")[0].rstrip(".")
            unit = unit_of(formula.__name__) or ""
            found.append(
                Entry(
                    formula.__name__, unit, label, equation_of(formula), source_of(formula), stage
                )
            )
    return found


def prior_rows(name: str, own: Path | None = None) -> list[dict[str, Any]]:
    """Return priors in words: of one quantity or ingredient, or all; else InputError."""
    priors = load_priors(own)
    if not name:
        return [_row("", prior, priors) for prior in priors.everything()]
    found = priors.scalar(name)
    if found is not None:
        return [_row("", found, priors)]
    rows = []
    for kind in priors.ingredients:
        item = priors.find(kind, name)
        for quantity in item.tables if item is not None else ():
            prior = priors.of(item, quantity) if item is not None else None
            if prior is not None and item is not None:
                rows.append(_row(f"{item.name}, ", prior, priors, item.kind))
    if not rows:
        known = [*priors.scalars, *(n for kind in priors.ingredients for n in priors.names(kind))]
        raise InputError("priors", [f"there is no prior {name!r}.{did_you_mean(name, known)}"])
    return rows


def _row(of: str, prior: Prior, priors: Priors, kind: str = "") -> dict[str, Any]:
    share = prior.quantity.endswith("_fraction")
    unit = "%" if share else prior.unit
    spread = spread_in_words(
        prior.distribution, unit, (lambda x: 100 * x) if share else (lambda x: x)
    )
    middle = prior.value * (100 if share else 1)
    return {
        "of": of,
        "quantity": prior.quantity,
        "family": prior.family,
        "middle": middle,
        "unit": unit,
        "spread": f"median {bare(middle)} {unit}".rstrip() + f", {spread}; {prior.family}",
        "kinds": kinds_in_words(prior.kinds),
        "kinds_note": "" if prior.is_constant else priors.reason(kind, prior.quantity),
        "grade": prior.grade,
        "source": priors.source_text(prior.source),
        "note": prior.note,
    }
