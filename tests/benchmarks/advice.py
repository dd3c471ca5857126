"""Is any advice absurd? Random recipes with a ratio target and a wish, and what they are told.

python tests/benchmarks/advice.py 200
"""

import datetime as dt
import sys
import time

import numpy as np

from brewsim.answers.fewest_moves import fewest_moves
from brewsim.answers.forecast import drawn_for, summary_of, today_of
from brewsim.answers.kept import kept
from brewsim.answers.next_beer import next_beer
from brewsim.beer.knob_limits import LEAST_KEPT, aroma_sources
from brewsim.logbook.brew import parse_batches
from brewsim.logbook.pose import pose
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.sweep import current_setting

HOPS = ("Hersbrucker Spät", "Northern Brewer", "East Kent Golding", "Fuggle", "Centennial")
LATE = ("whirlpool 20 min at 80 °C", "flameout", "dry hop day 3 for 4 days at 16 °C")
SIDES = ("thiol_activity", "hop_aroma_activity")
WORDS = ("too little", "just right", "too much", "far too much")


def recipe_text(rng: np.random.Generator) -> str:
    """Return a random recipe with a ratio target."""
    mash, malt = rng.integers(63, 69), rng.uniform(3, 6)
    top = f'name = "Beer"\nvolume = "20 L"\nboil = "60 min"\nmash = "{mash} °C"\n'
    parts = [top, f'[[malt]]\nname = "Pilsner malt"\nmass = "{malt:.2f} kg"\n']
    knobs = []
    steps = ["boil 60 min", *(["mash"] if rng.random() < 0.6 else [])]
    steps += list(rng.choice(LATE, size=rng.integers(1, 3), replace=False))
    for count, step in enumerate(steps, start=1):
        mass = rng.integers(5, 25) if step == "boil 60 min" else rng.integers(5, 80)
        parts.append(
            f'[[hop]]\nvariety = "{rng.choice(HOPS)}"\nalpha = "{rng.uniform(2.5, 10):.1f} %"\n'
            f'mass = "{mass} g"\nwhen = "{step}"\n'
        )
        knobs.append(f'"hop {count} mass" = "0 to {2 * mass} g in steps of 1 g"')
    if rng.random() < 0.7:
        dose = round(float(rng.uniform(0.5, 4)), 1)
        parts.append(
            f'[[precursor]]\nname = "grape-derived powder"\ndose = "{dose} g/L"\n'
            'when = "whirlpool"\n'
        )
        knobs.append(f'"precursor 1 dose" = "0 to {2 * dose:g} g/L in steps of 0.1 g/L"')
    release = rng.choice(["ordinary", "active"])
    parts.append(
        f'[yeast]\nname = "clean ale yeast"\nthiol_release = "{release}"\n'
        '[package]\ncontainer = "keg"\ncarbonation = "2.5 vol"\nstorage = "4 weeks at 4 °C"\n'
        '[targets]\nthiol_lead = "-1 to 1"\n'
    )
    knobs.append('"yeast thiol_release" = ["ordinary", "active"]')
    return "".join(parts) + "[knobs]\n" + "\n".join(knobs) + "\n"


def log_text(rng: np.random.Generator) -> str:
    """Return a log of one batch tasted by three people."""
    thiols = ", ".join(rng.choice(WORDS, 3))
    hops = ", ".join(rng.choice(WORDS, 3))
    return (
        'tasters = ["A", "B", "C"]\n[[batch]]\nid = "G1"\ndate = 2026-01-10\n'
        f'[batch.tasted]\nthiols = "{thiols}"\nhops = "{hops}"\nbitterness = "-, just right, -"\n'
        '[batch.readings]\noriginal_gravity = "1.050 by consumer hydrometer"\n'
    )


def advice(count: int) -> None:
    """Print how many recipes were told to drop a source, and the three lowest that were kept."""
    rng, started = np.random.default_rng(11), time.perf_counter()
    dropped, faint, lowest, moved = 0, 0, [], 0
    for number in range(count):
        text, log = recipe_text(rng), log_text(rng)
        recipe = parse_recipe(text)
        posed = pose(recipe)
        problem = kept(recipe, posed).problem
        today = today_of(posed, summary_of(drawn_for(posed)))
        plain = fewest_moves(recipe, posed, problem, today)
        found = [m.settings for m in (plain.chosen, plain.nearest) if m is not None]
        batches = parse_batches(log, text, "log", today=dt.date(2026, 6, 1))
        wish = {"thiols": "half of G1", "hops": "more than G1"}
        name = "thiols" if number % 2 else "hops"
        wished = recipe.model_copy(update={"wish": {}})
        answer = next_beer(
            wished,
            pose(recipe),
            batches,
            load_priors(),
            wishes=[_wish(name, wish[name])],
            time_limit_s=1.0,
            teach=False,
        )
        steering = answer.steering
        moves = (steering.chosen, steering.nearest, steering.best)
        tasted = [m.settings for m in moves if m is not None]
        sources = aroma_sources(recipe, problem.knobs)
        now = {k.id: current_setting(problem, k) for k in problem.knobs}
        for settings in (*found, *tasted):
            moved += bool(settings)
            for source in sources & settings.keys():
                share = float(settings[source]) / float(now[source])
                lowest.append((share, number, source))
                dropped += share < LEAST_KEPT - 1e-9
        faint += sum(_faint(problem, settings) for settings in found)
        if (number + 1) % 20 == 0:
            print(_told(number + 1, moved, dropped, faint, lowest, started), flush=True)
    print(_told(count, moved, dropped, faint, lowest, started))


def _told(
    count: int, moved: int, dropped: int, faint: int, lowest: list[tuple], started: float
) -> str:
    worst = sorted(lowest)[:3]
    return (
        f"{count} recipes, {moved} moves advised: {dropped} dropped a source below a quarter, "
        f"{faint} fell below notice on a side that was noticed; lowest kept: "
        + ", ".join(f"x{share:.2f} ({source} of recipe {n})" for share, n, source in worst)
        + f"; {time.perf_counter() - started:.0f} s"
    )


def _wish(name: str, text: str) -> object:
    from brewsim.recipe.wishes import read_wish

    return read_wish(name, text)


def _faint(problem: object, settings: object) -> bool:
    values = Evaluator(problem, CommonDraws([problem], Plan(8, 256, 5)), SIDES)
    before, after = values.at({}), values.at(settings)
    return any(np.median(before[s]) >= 1.05 and np.median(after[s]) < 0.95 for s in SIDES)


if __name__ == "__main__":
    advice(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
