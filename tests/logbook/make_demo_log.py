"""Write demo-recipes/quillhaven-lager-six-batches.toml: six invented batches of the lager.

A hidden truth is drawn from the recipe's own priors, every batch is computed from it by the
model, and each reading gets the error of its instrument. Run it from the root of the checkout:

    python tests/logbook/make_demo_log.py
"""

import sys
from pathlib import Path
from zlib import crc32

import numpy as np

from brewsim.logbook.brew import parse_batches
from brewsim.study.inference.likelihood import Model
from brewsim.study.model.batch import Batch

SEED = 11
ODD, ODD_MASH_SCORE = 3, 5.0
"""The fourth batch was really mashed 5 standard deviations of the thermometer too hot."""
ROOT = Path(__file__).resolve().parents[2]
RECIPE = ROOT / "demo-recipes" / "quillhaven-lager.toml"
DATES = ("2026-01-17", "2026-02-07", "2026-03-07", "2026-03-28", "2026-04-25", "2026-05-30")
CHANGED = {1: '{ "hop 2 mass" = "12 g" }', 4: '{ "hop 1 lot" = "H25", "hop 3 lot" = "H25" }'}
HEAD = f"""# Six batches of the Quillhaven lager. Invented: a hidden truth was drawn from the priors
# of the recipe (seed {SEED}), the model brewed it, and every reading got its instrument's error.
# Batch Q4 was mashed too hot, and nobody wrote that down.
# Made by: python tests/logbook/make_demo_log.py

[instrument."Quillhaven spindle"]
kind = "consumer hydrometer"

[[calibration]]                      # in water at 20 °C
instrument = "Quillhaven spindle"
read  = "{{water:.4f}}"
known = "1.000"
"""
BLOCK = """
[[batch]]
id      = "Q{number}"
date    = {date}
{changed}[batch.readings]
original_gravity = "{og:.4f} by Quillhaven spindle"
final_gravity    = "{fg:.4f} by Quillhaven spindle"
bitterness       = "{ibu:.1f} IBU by lab bitterness"
fermenter_volume = "{volume:.2f} L by volume mark"
"""


def written(values: np.ndarray) -> str:
    """Return the log as text; `values` are (6, 4) readings, then the one in water."""
    text = HEAD.format(water=values[-1])
    for number, (og, fg, ibu, volume) in enumerate(values[:-1].reshape(6, 4)):
        changed = f"changed = {CHANGED[number]}\n" if number in CHANGED else ""
        text += BLOCK.format(
            number=number + 1,
            date=DATES[number],
            changed=changed,
            og=og,
            fg=fg,
            ibu=ibu,
            volume=volume,
        )
    return text


def _drawn(seed: int, name: str) -> float:
    """Return a normal score that is a name's own: an input more moves no other."""
    return float(np.random.default_rng([seed, crc32(name.encode())]).standard_normal())


def simulated(seed: int) -> str:
    """Return the log of a brewery drawn at random."""
    blank = written(np.array([*[1.045, 1.010, 20, 20] * 6, 1.0]))
    log = parse_batches(blank, RECIPE.read_text(encoding="utf-8"))
    order = ("original_gravity_sg", "final_gravity_sg", "bitterness_ibu", "fermenter_volume_l")
    batches = []
    for batch in log.batches:
        rows = [r for q in order for r in batch.readings if r.quantity == q and r.known is None]
        rows += [r for r in batch.readings if r.known is not None]
        batches.append(Batch(batch.id, batch.problem, tuple(rows)))
    model = Model(batches)
    truth = np.array([[_drawn(seed, name)] for name in model.names])
    truth[model.names.index(f"mash_temperature_error_c @batch Q{ODD + 1}")] = ODD_MASH_SCORE
    noise = np.array([r.noise for _, r in model.readings])
    errors = np.array([_drawn(seed, f"reading {place}") for place in range(len(noise))])
    value = model.predicted(truth)[:, 0] + noise * errors
    log_scale = np.array([r.scale == "log" for _, r in model.readings])
    value = np.where(log_scale, np.exp(value), value)
    known = np.array([r.known is not None for _, r in model.readings])
    return written(np.append(value[~known], value[known]))


if __name__ == "__main__":
    text = simulated(SEED)
    (RECIPE.parent / "quillhaven-lager-six-batches.toml").write_text(text, encoding="utf-8")
    sys.stdout.write(text)
