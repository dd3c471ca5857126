"""A log's batches with what tasters said of them, and with the wort that some of them share."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from brewsim.logbook.entries import Entry
from brewsim.logbook.split_wort import apart, faults_of_split
from brewsim.logbook.tasting_answers import SittingReader, answers_of_batch
from brewsim.logbook.tasting_entries import NOT_COMPUTED, Sitting
from brewsim.priors.library import Priors
from brewsim.priors.panel import panel_of
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault, in_words
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.batch import Answer, Batch


def with_split_worts(
    batches: Sequence[Batch],
    entries: Mapping[str, Entry],
    recipes: Mapping[str, str],
    faults: list[Fault],
) -> list[Batch]:
    """Return the batches, those that are part of another's wort sharing its brew day."""
    found = []
    for batch in batches:
        entry = entries[batch.id]
        if not entry.split_of:
            found.append(batch)
            continue
        recipe = parse_recipe(recipes[entry.recipe])
        told = list(faults_of_split(entry, entries, recipe, batch.problem))
        faults += [(line, in_words(line, f"batch {batch.id}", what)) for line, what in told]
        if not told:
            parent = entries[str(entry.split_of)]
            own = apart(entry, parent, batch.problem)
            batch = replace(batch, split_of=parent.id, apart=own)  # noqa: PLW2901 - the same batch
        found.append(batch)
    return found


def with_answers(
    batches: Sequence[Batch],
    entries: Mapping[str, Entry],
    sittings: Sequence[Sitting],
    priors: Priors,
    faults: list[Fault],
) -> list[Batch]:
    """Return the batches with all answers; one about several stands with the last of them."""
    panel = panel_of(priors)
    order = {batch.id: place for place, batch in enumerate(batches)}
    answers: dict[str, list[Answer]] = {batch.id: [] for batch in batches}
    for batch in batches:
        entry = entries[batch.id]

        def refuse(text: Written, what: str, entry: Entry = entry) -> None:
            line = line_of(text) or entry.line
            faults.append((line, in_words(line, f"batch {entry.id}", what)))

        answers[batch.id] += answers_of_batch(batch.id, entry.tasted, panel, refuse)
    for sitting in sittings:

        def deny(text: Written, what: str, sitting: Sitting = sitting) -> None:
            line = line_of(text) or sitting.line
            faults.append((line, in_words(line, "tasting", what)))

        for answer in SittingReader(sitting, tuple(order), panel).answers(deny):
            last = max((name for name, _ in answer.cups), key=lambda name: order[name])
            answers[last].append(answer)
    return [replace(batch, answers=tuple(answers[batch.id])) for batch in batches]


def tasting_remarks(entries: Sequence[Entry], sittings: Sequence[Sitting]) -> Iterator[str]:
    """Yield what a reader of a tasted log should know of how it is taken."""
    kept = {a for entry in entries for a in entry.tasted.words if a in NOT_COMPUTED}
    if kept:
        told = ", ".join(a for a in NOT_COMPUTED if a in kept)
        yield f"what was tasted of {told} is kept; nothing here computes it"
    worded = [entry.tasted for entry in entries if entry.tasted.words]
    if any(not tasted.tasters for tasted in worded):
        yield (
            "no tasters are named, so each word is taken as another person's; write "
            'tasters = ["A", "B", "C"] at the top of the log if they are the same people'
        )
    if any(b["with"].lower().startswith("plain") for s in sittings for b in s.blends):
        yield (
            "a blend with plain beer also thins bitterness, hops and alcohol; take a plain beer "
            "of the same strength"
        )
