"""How far are the dials of a page off? Every demo, on settings that no fit has seen.

python tests/benchmarks/dials.py 400
"""

import sys

import numpy as np

import brewsim
from brewsim.answers.fifty import pictured
from brewsim.answers.ratio_sides import known_ratios
from brewsim.page.dials import as_json
from brewsim.study.model import targets
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.steering.surface_fit import surfaces
from brewsim.study.steering.surfaces import DRAWS_PER_REPLICATE
from tests.door import DEMOS

SEED = 20_261
_FLOOR = 1e-3


def settings_at_random(found, rng):
    """Return one setting for every dial and chooser, evenly over its range."""
    dials = {d.knob.id: d.setting(rng.random()) for d in found.dials}
    return dials | {k.id: str(rng.choice([c.label for c in k.choices])) for k in found.choosers}


def distances(problem, name, shown, computed, today):
    """Return how far values are apart, in standard deviations on the outcome's axis."""
    if problem.scales.get(name, "linear") != "linear":
        least = _FLOOR * float(np.median(today))
        shown, computed, today = (np.log2(np.maximum(v, least)) for v in (shown, computed, today))
    return np.abs(shown - computed)[np.isfinite(computed)] / (float(today.std()) or 1.0)


def errors_of(problem, count, seed=SEED):
    """Return distances by outcome and errors of the joint chance, in batches of 50."""
    names = pictured(problem)
    found = surfaces(problem, names, known_ratios(problem))
    usual = without_events(problem)
    plan = Plan(rows=DRAWS_PER_REPLICATE, seed=1)
    computed = Evaluator(usual, CommonDraws([usual], plan), names)
    rng, apart, joint = np.random.default_rng(seed), {n: [] for n in names}, []
    wanted = {n: t for n, t in usual.targets.items() if n in names}
    for _ in range(count):
        settings = settings_at_random(found, rng)
        shown, true = found.values(settings), computed.at(settings)
        for name in names:
            apart[name].append(distances(problem, name, shown[name], true[name], found.today[name]))
        landed = [
            np.logical_and.reduce([targets.lands(y[n], t) for n, t in wanted.items()]).mean()
            for y in (shown, true)
        ]
        joint.append(50 * abs(landed[0] - landed[1]))
    return found, {n: np.concatenate(parts) for n, parts in apart.items()}, np.array(joint)


def main(count):
    """Print the errors of every demo, the size of its dials in the page."""
    for demo in ("lager", "bitter", "pale"):
        recipe = DEMOS / f"quillhaven-{demo}.toml"
        problem = brewsim.pose(brewsim.read_recipe(recipe))
        found, apart, joint = errors_of(problem, count)
        page = brewsim.report(recipe, draws=4096)
        size = len(as_json(page.dials, page.screen.actions).encode()) / 1024

        sys.stdout.write(f"{demo}: {size:.0f} KiB\n")
        for name, far in apart.items():
            median, most = np.quantile(far, (0.5, 0.95))
            snapped = ", stops at computed settings" if name in found.snapped else ""
            told = f"  {name}: median {median:.4f}, 95 % {most:.4f}, worst {far.max():.3f} sd"
            sys.stdout.write(f"{told}{snapped}\n")
        median, most = np.quantile(joint, (0.5, 0.95))
        sys.stdout.write(
            f"  all targets: {median:.2f}, {most:.2f}, worst {joint.max():.2f} of 50\n"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
