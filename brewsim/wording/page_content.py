"""From everything that was computed to everything the page says."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import xarray as xr

from brewsim.answers.everything import Everything
from brewsim.answers.fifty import pictured
from brewsim.beer.assumptions import Row
from brewsim.beer.display_units import label_in, rows_of
from brewsim.beer.statements import Basis, resolve
from brewsim.beer.unknown_names import near_misses
from brewsim.dims import FloatArray
from brewsim.priors.library import Priors
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import DOTS, percent
from brewsim.quantities.format import printed, value, with_unit
from brewsim.study.propagation.figures import MOST_BAD
from brewsim.wording.batches import batches_of
from brewsim.wording.brew_day_card import brew_day_card
from brewsim.wording.cautions import dangers
from brewsim.wording.content import Batches, Content, Panel
from brewsim.wording.dials import dials_of
from brewsim.wording.facts import facts_of, numbered_rows
from brewsim.wording.fewest_moves import left_out_sentences
from brewsim.wording.first_screen import first_screen, pictures_of, summary_figures
from brewsim.wording.house_log import house_log, log_screen
from brewsim.wording.knobs import steered_panel
from brewsim.wording.lead import lead_reading
from brewsim.wording.made_by import made_by
from brewsim.wording.outcomes import Extras, Looks, content_of
from brewsim.wording.page_parts import FirstScreen, HouseLog, Pictures
from brewsim.wording.specification.specification import spec_panel
from brewsim.wording.spread_sources import again_rows, source_bars
from brewsim.wording.tasted_page import tasted_beer, tasted_screen
from brewsim.wording.wish_dials import wish_dials_of


def page_content(found: Everything, rows: Sequence[Row], priors: Priors) -> Content:
    """Return the page of a recipe as plain data."""
    recipe, problem = found.recipe, found.problem
    looks = rows_of(problem)
    understood, assumed, sources = numbered_rows(rows)
    notes = dangers(facts_of(recipe, problem, priors, found.over))
    panel = Panel()
    joint = found.summary.attrs.get("joint_in_target")
    if found.steered is not None and found.moves is not None:
        error = float(found.summary.attrs["joint_in_target_error"]) if joint else 0.0
        today = (float(joint), error) if joint else None
        panel = steered_panel(problem, found.steered, looks, today, found.moves.faint)
    panel = replace(
        panel, sentences=(*panel.sentences, *left_out_sentences(problem, found.left_out))
    )
    extras = Extras(
        dangers=notes,
        knob_panel=panel,
        spec=spec_panel(problem, found.specified, looks, studies=found.spec),
        understood=understood,
        assumed=assumed,
        warnings=(
            *recipe.remarks,
            *near_misses(Basis(resolve(recipe), priors)),
            *formula_spread(found.drawn),
            *lead_reading(found.drawn),
        ),
        sources=sources,
        looks=looks,
    )
    content = content_of(
        found.drawn,
        found.summary,
        by_factor=found.by_factor,
        by_group=found.by_group,
        by_kind=found.by_kind,
        removable=found.removable,
        spread=found.spread,
        extras=extras,
        label=label_in(problem),
    )
    return _with_first_parts(content, found, looks, made_by(content, found, priors))


def _with_first_parts(content: Content, found: Everything, looks: Looks, origin: str) -> Content:
    """Add the parts that stand first: verdict, dials, why, own batches, the log and the card."""
    problem, summary = found.problem, found.summary
    pictures = Pictures()
    if found.fifty is not None:
        pictures = pictures_of(problem, found.fifty, summary_figures(found), looks)
    order = [s.name for s in pictures.strips] or list(pictured(problem))
    first = first_screen(found, pictures, looks, content.dangers)
    log, batches = _log(found, looks, order)
    screen = first
    if log is not None and found.log is not None:
        known = {**looks, **_read_looks(found, looks)}
        screen = log_screen(found.log, log, known, first, first.caution)
    tasted = None
    if found.tasted is not None:
        tasted, screen = tasted_beer(found.tasted), tasted_screen(found.tasted, first.caution)
    dials = dials_of(problem, found.surfaces, found.fifty, pictures.strips, summary, looks)
    if found.tasted is not None and found.wish is not None:
        dials = wish_dials_of(problem, found.tasted.aims.start.id, found.wish)
    method = (*content.method, *([] if dials is None else [dials.error]), origin)
    card = brew_day_card(
        found.recipe,
        problem,
        found.card,
        expect=_expect(content, order, first),
        caution=first.caution.short if first.caution is not None else "",
        version=content.version,
        seed=content.seed,
    )
    return replace(
        content,
        batches=batches,
        method=method,
        screen=screen,
        forecast=first if log is not None or tasted is not None else None,
        tasted=tasted,
        dials=dials,
        sources_of=source_bars(found.sources, order, looks),
        again=again_rows(content.kinds, content.outcomes, order),
        house=log,
        card=card,
    )


def _log(found: Everything, looks: Looks, order: Sequence[str]) -> tuple[HouseLog | None, Batches]:
    if found.log is None or found.before is None:
        return None, Batches(panel=Panel())
    known = {**looks, **_read_looks(found, looks)}
    told = house_log(found.log, known, found.before, found.summary, order)
    learned = found.log.learned
    causes = [one.cause for one in found.log.odd if one.cause.outcome in known]
    return told, batches_of(learned, causes, known, found.log.scatter)


def _read_looks(found: Everything, looks: Looks) -> Looks:
    """Return how readings are shown that are no outcome of the page."""
    if found.log is None:
        return {}
    read = {one.cause.outcome for one in found.log.readings} - looks.keys()
    return rows_of(found.log.learned.problem, sorted(read)) if read else {}


def _expect(content: Content, order: Sequence[str], first: FirstScreen) -> str:
    """Return what to expect in one line, with the verdict where there are targets."""
    by_name = {o.name: o for o in content.outcomes}
    told = []
    for name in order[:4]:
        if name in by_name:
            one = by_name[name]
            middle, low, high = (printed(one.look, v) for v in (one.middle, one.low, one.high))
            told.append(f"{one.look.label} {with_unit(one.look, middle)} ({low} to {high})")
    if not told:
        return ""
    count = f" {first.figure} batches meet all targets." if DOTS and first.figure else ""
    return f"Expect {', '.join(told)}.{count}"


def formula_spread(drawn: xr.Dataset) -> list[str]:
    """Say what the usual bitterness formulas would promise for this recipe."""
    names = {"tinseth_ibu": "Tinseth's", "rager_ibu": "Rager's", "garetz_ibu": "Garetz's"}
    told = [
        f"{words} {_median(name, drawn[name].to_numpy())}"
        for name, words in names.items()
        if name in drawn
    ]
    if not told:
        return []
    here = _median("bitterness_ibu", drawn["bitterness_ibu"].to_numpy())
    sentence = f"Formulas disagree: for this recipe {', '.join(told)} IBU, against {here} here."
    return [f"{sentence} Garetz's is a stand-in curve from memory."]


def _median(quantity: str, values: FloatArray) -> str:
    """Return the median of the draws that have a value, and say where some have none."""
    known = values[np.isfinite(values)]
    if not known.size:
        return "no"
    without = 1 - known.size / values.size
    told = value(outcome_of(quantity), float(np.median(known)))
    return f"{told} (no value in {percent(without)} of the draws)" if without > MOST_BAD else told
