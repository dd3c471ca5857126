"""A commented entry for a brewery's own file of priors, which reads without a fault."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, Literal, get_args

from brewsim.errors import InputError
from brewsim.priors.library import Ingredient, Priors

StarterKind = Literal["hop", "malt", "sugar", "precursor", "yeast"]
KINDS: tuple[str, ...] = get_args(StarterKind)
_MODELS = {
    "hop": ("hop_lot", "Northern Brewer"),
    "malt": ("malt", "Pilsner malt"),
    "sugar": ("sugar", "Sucrose"),
    "precursor": ("precursor", "grape-derived powder"),
    "yeast": ("yeast", "clean ale yeast"),
}
"""Kind -> the list of the library and the entry whose shape a new one takes over."""
_MEANINGS = {
    "family": "normal, lognormal, triangular, beta, uniform, constant ...",
    "log_sd": "0.1: nine in ten within a factor 1.18 either way",
    "kinds": "what returns: knowledge (always), lot (a new pack), batch (every brew)",
    "grade": "published | secondary | common practice | from memory | assumption",
    "source": 'a key under [sources.KEY] with its text = "...", or "assumption"',
    "measurable": "whether you could measure it before the brew",
}
_TAGS_LEFT = ("grade", "source", "kind")


def starter_prior(kind: str, name: str, priors: Priors) -> str:
    """Return a commented entry of that kind and name; `load_priors` takes it as it stands.

    Its numbers are those of an entry of the library, each marked as an assumption. Raises
    InputError for an unknown kind, and for a name that is none or is there already.
    """
    if kind not in KINDS:
        raise InputError("--new", [f"“{kind}” is no kind; write one of {', '.join(KINDS)}"])
    clean = " ".join(name.split())
    if not clean or not clean.isprintable():
        raise InputError("--new", [f'name it: brewsim priors --new {kind} "My own"'])
    listed, model = _MODELS[kind]
    there = priors.find(listed, clean)
    if there is not None:
        told = f"“{clean}” is there already, as {there.name}; give another name"
        raise InputError("--new", [told])
    entry = priors.find(listed, model)
    if entry is None:
        raise InputError("--new", [f"the library has no {model} to take the shape from"])
    return "\n".join(_lines(kind, clean, entry)) + "\n"


def _lines(kind: str, name: str, model: Ingredient) -> Iterator[str]:
    head = f"{kind}.{json.dumps(name, ensure_ascii=False)}"
    yield f"# {name}: an entry for your own file of priors. Use it with --priors FILE."
    yield f"# The numbers are those of {model.name}: put yours, and say where they come from."
    tags = {key: value for key, value in model.tags.items() if key not in _TAGS_LEFT}
    yield ""
    yield f"[{head}]"
    for key, value in tags.items():
        yield f"{key} = {json.dumps(value, ensure_ascii=False)}"
    told: set[str] = set()
    for quantity, table in model.tables.items():
        yield ""
        yield f"[{head}.{quantity}]"
        for key, value in _own(table, model.name).items():
            meaning = "" if key in told else _MEANINGS.get(key, "")
            told.add(key)
            yield f"{key} = {_toml(value)}{f'  # {meaning}' if meaning else ''}"


def _own(table: Mapping[str, Any], model: str) -> dict[str, Any]:
    kept = dict(table)
    note = {"note": f"as {model}; put your own"}
    return kept | {"grade": "assumption", "source": "assumption"} | note


def _toml(value: object) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml(part)}" for key, part in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False)
