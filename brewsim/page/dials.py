"""The dials of a page as the page's own script reads them: plain numbers, and draws packed."""

import base64
import json
from typing import Any

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.steering.surfaces import Surface
from brewsim.wording.page_parts import Action, DialRow, Dials, Strip
from brewsim.wording.sentences import target_words


def as_json(dials: Dials, actions: tuple[Action, ...] = ()) -> str:
    """Return all the script needs: dials, surfaces in shown units, strips and what to show."""
    found = dials.surfaces
    ids = [row.id for row in dials.rows]
    content = {
        "draws": len(next(iter(found.today.values()))),
        "dials": [_dial(row) for row in dials.rows],
        "surfaces": {
            name: _surface(surface, dials.per_model.get(name, 1.0), ids)
            for name, surface in found.surfaces.items()
        },
        "ratios": {name: [ratio.top, ratio.bottom] for name, ratio in found.ratios.items()},
        "strips": [
            _strip(strip, dials.chances.get(strip.name)) | _ends(dials, strip.name)
            for strip in dials.strips
        ],
        "dots": dials.dots,
        "joint": dials.joint,
        "first": dials.first,
        "what": dials.what,
        "moves": [_move(dials, action) for action in actions],
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def _dial(row: DialRow) -> dict[str, Any]:
    return {
        "id": row.id,
        "label": row.label,
        "unit": row.unit,
        "decimals": row.decimals,
        "places": [round(place, 10) for place in row.places],
        "start": row.start,
        "low": row.low,
        "high": row.high,
        "choices": row.choices,
        "lines": row.lines,
        "beside": row.beside,
        "written": row.start if row.written is None else row.written,
    }


def _surface(surface: Surface, per_model: float, ids: list[str]) -> dict[str, Any]:
    return {
        "axes": [{"dial": axis.dial, "nodes": axis.nodes} for axis in surface.basis.axes],
        "terms": surface.basis.terms,
        "choices": [ids.index(name) for name in surface.choices],
        "mean": _packed(surface.mean * per_model, "<f4"),
        "shapes": _packed(surface.shapes * per_model, "<f4"),
        "scores": _packed(surface.scores, "<i2"),
        "rank": surface.scores.shape[0],
    }


def _ends(dials: Dials, name: str) -> dict[str, Any]:
    if name not in dials.ends:
        return {}
    low, high = dials.ends[name]
    return {"ends": [_packed(low, "<f4"), _packed(high, "<f4")]}


def _packed(values: FloatArray | Any, kind: str) -> str:  # noqa: ANN401 - whole numbers too
    return base64.b64encode(np.ascontiguousarray(values).astype(kind).tobytes()).decode()


def _strip(strip: Strip, chance: float | None) -> dict[str, Any]:
    look, target = strip.look, strip.target
    return {
        "name": strip.name,
        "label": look.title,
        "unit": look.unit if not look.fold and look.unit != "SG" else "",
        "decimals": look.decimals,
        "figures": look.figures,
        "fold": look.fold,
        "logged": strip.logged,
        "target": None if target is None else [target.lower, target.upper],
        "wanted": "" if target is None else target_words(target, look),
        "middle": strip.middle,
        "chance": chance,
    }


def _move(dials: Dials, action: Action) -> dict[str, Any] | None:
    """Return where each dial stands for an action, and the chances that it tells; None for none.

    A dial stands at the place nearest to the action's setting; chances are in the order of the
    strips with a target, that of all targets last.
    """
    if not action.settings:
        return None
    stands = []
    for row in dials.rows:
        wanted = action.settings.get(row.id)
        if wanted is None:
            stands.append(row.start)
        elif isinstance(wanted, str):
            stands.append(row.choices.index(wanted))
        else:
            stands.append(min(range(len(row.places)), key=lambda i: abs(row.places[i] - wanted)))
    aimed = [action.chances.get(s.name) for s in dials.strips if s.target is not None]
    return {"stands": stands, "told": [*aimed, action.joint]}
