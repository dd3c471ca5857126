"""Learning on the whole beer: bias against scatter, own data, mid-batch, stuck fermentations."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

import brewsim
from brewsim.distributions.constructors import normal
from brewsim.logbook.brew import parse_batches, read_batches
from brewsim.logbook.house import house_of, with_house
from brewsim.recipe.read import parse_recipe
from brewsim.study.inference.elliptical_slice import prior_reference, slice_step
from brewsim.study.inference.experimental_design import in_batch, spreads, two_brews
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[3]
LAGER = ROOT / "demo-recipes" / "quillhaven-lager.toml"
LOG = ROOT / "demo-recipes" / "quillhaven-lager-six-batches.toml"
READ = (
    ("original_gravity_sg", 0.0007, 0.002, "linear"),
    ("final_gravity_sg", 0.0007, 0.002, "linear"),
    ("bitterness_ibu", 0.86, 1.8, "linear"),
    ("fermenter_volume_l", 0.003, 0.01, "log"),
)


def blank(problem, count):
    readings = tuple(Reading(q, 1.0, n, q[:5], b, scale=s) for q, n, b, s in READ)
    return [Batch(f"b{i}", problem, readings) for i in range(count)]


def brewed(batches, rng, **pinned):
    model = Model(batches)
    state = rng.standard_normal((len(model.names), 1))
    for name, score in pinned.items():
        state[model.names.index(name)] = score
    noise = np.array([r.noise for _, r in model.readings])
    value = model.predicted(state)[:, 0] + noise * rng.standard_normal(len(noise))
    value = np.where([r.scale == "log" for _, r in model.readings], np.exp(value), value)
    values = iter(value)
    return [
        replace(b, readings=tuple(replace(r, value=float(next(values))) for r in b.readings))
        for b in batches
    ]


def only_efficiency(shared, own):
    """Return the lager with nothing uncertain but efficiency: sds of house and brew in points."""
    problem = brewsim.pose(brewsim.read_recipe(LAGER))
    factor = problem.factor("stated_mash_efficiency_fraction")
    total = shared**2 + own**2
    kinds = Kinds(shared**2 / total, 0.0, own**2 / total)
    distribution = normal(factor.distribution.median, float(np.sqrt(total)) / 100)
    fixed = dict(problem.fixed)
    for other in problem.factors:
        if other.row is None and other.id != factor.id:
            fixed[other.quantity] = np.array([other.distribution.median])
    kept = replace(factor, kinds=kinds, distribution=distribution)
    return replace(problem, factors=(kept,), fixed=fixed)


@pytest.mark.parametrize(("shared", "low", "high"), [(3.0, 0.3, 0.45), (0.0, 0.0126, 0.0186)])
def test_six_brews_all_low_are_likely_only_where_the_house_has_a_bias(shared, low, high):
    """U6: 1 in 64 for six independent brews; with a shared sd of 3 to 1, about 0.38.

    The second figure is E[Phi(3 K)^6], K standard normal, by quadrature.
    """
    problem = only_efficiency(shared, 1.0)
    reading = (Reading("original_gravity_sg", 1.0, 1e-6),)
    model = Model([Batch(f"b{i}", problem, reading) for i in range(6)])
    state = np.random.default_rng(2).standard_normal((len(model.names), 65_536))

    gravity = model.predicted(state)
    middle = float(model.predicted(np.zeros((len(model.names), 1)))[0, 0])
    chance = float((gravity < middle).all(axis=0).mean())

    assert low < chance < high
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    exact = float(weights @ stats.norm.cdf(shared * nodes) ** 6 / weights.sum())
    assert chance == pytest.approx(exact, abs=0.008)


OWN_DATA = """
name = "one hop"
volume = "20 L"
boil = "60 min"
efficiency = "75 ± 3 %"
malt = ["4 kg Pilsner malt"]
[[hop]]
variety = "Northern Brewer"
lot = "N1"
alpha = "8 %"
mass = "30 g"
when = "boil 60 min"
[yeast]
attenuation = "76 to 82 %"
"""


def test_a_lab_value_gives_the_utilisation_and_narrows_the_next_run():
    """U8: 36 IBU of 30 g at 8 % in 20 L is 36 x 20 / 2400 = 30 % of the alpha acids."""
    text = '[[batch]]\nid = "1"\ndate = 2026-01-01\n[batch.readings]\nbitterness = "36 IBU"\n'
    log = parse_batches(text, OWN_DATA)
    problem = brewsim.pose(parse_recipe(OWN_DATA))

    learned = update(problem, log.batches, time_limit_s=5)

    bitterness = in_batch(learned, log.batches[0], ["bitterness_ibu"])["bitterness_ibu"]
    assert float(np.mean(bitterness)) * 20 / 2400 == pytest.approx(0.30, abs=0.02)
    after = with_house(problem, house_of(learned))
    spread = [
        float(brewsim.simulate(p, draws=4096)["bitterness_ibu"].std()) for p in (problem, after)
    ]
    assert spread[1] < 0.8 * spread[0]


def test_a_hydrometer_that_reads_high_in_water_shifts_gravities_and_not_their_difference():
    """U8: 1.002 in water takes 0.002 off original and final gravity alike."""
    head = '[instrument.mine]\nkind = "consumer hydrometer"\n'
    check = '[[calibration]]\ninstrument = "mine"\nread = "1.002"\nknown = "1.000"\n' * 8
    batch = '[[batch]]\nid = "1"\ndate = 2026-01-01\n[batch.readings]\n'
    batch += 'original_gravity = "1.048 sd 0.00005 by mine"\n'
    batch += 'final_gravity = "1.011 sd 0.00005 by mine"\n'
    recipe = LAGER.read_text(encoding="utf-8")
    found = []
    for text in (head + batch, head + check + batch):
        log = parse_batches(text, recipe)
        learned = update(log.batches[0].problem, log.batches, keep=16, time_limit_s=0)
        names = ["original_gravity_sg", "final_gravity_sg"]
        both = in_batch(learned, log.batches[0], names)
        found.append([float(both[name].mean()) for name in names])

    bias = 0.002 * learned.mean("mine @bias")
    assert bias == pytest.approx(0.002, abs=0.0003)
    (og, fg), (checked_og, checked_fg) = found
    assert 1.048 - checked_og == pytest.approx(0.002, abs=0.0004)
    assert checked_og - checked_fg == pytest.approx(og - fg, abs=0.0004)


def test_readings_before_the_boil_narrow_what_this_batch_will_be():
    """U9: volume and gravity in the kettle say most of what original gravity will be."""
    text = '[[batch]]\nid = "1"\ndate = 2026-01-01\n[batch.readings]\n'
    text += 'preboil_gravity = "1.032 by checked hydrometer"\n'
    text += 'preboil_volume = "25.3 L by volume mark"\n'
    log = parse_batches(text, LAGER.read_text(encoding="utf-8"))
    problem = log.batches[0].problem

    learned = update(problem, log.batches, time_limit_s=5)

    after = in_batch(learned, log.batches[0], ["original_gravity_sg"])["original_gravity_sg"]
    before = brewsim.simulate(problem, draws=4096)["original_gravity_sg"].to_numpy()
    assert after.std() < 0.75 * before.std()
    assert after.mean() < before.mean() - 0.003


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_stuck_fermentation_is_found_among_six_batches_of_the_whole_model(seed):
    """A planted event of small chance: found from every start, and in its own batch only."""
    text = OWN_DATA + '\n[model]\nstall = "possible"\n'
    problem = brewsim.pose(parse_recipe(text))
    whether = next(f for f in problem.factors if f.event)
    rng = np.random.default_rng(5)
    batches = brewed(
        blank(problem, 6),
        rng,
        **{f"{whether.id} @batch b{i}": 0 for i in range(5)},
        **{f"{whether.id} @batch b5": 3.5, "stall_loss_fraction @batch b5": 2.0},
    )

    learned = update(problem, batches, seed=seed, time_limit_s=5)

    chance = []
    for i in range(6):
        score = learned.draws[f"{whether.id} @batch b{i}"]
        chance.append(float(np.mean(whether.distribution.from_score(score) > 0.5)))
    assert chance[5] > 0.95
    assert max(chance[:5]) < 0.05


@pytest.mark.slow(6)
def test_a_plain_sampler_run_long_agrees():
    """The same posterior by elliptical slices around the prior alone (Murray et al., 2010)."""
    problem = brewsim.pose(parse_recipe(OWN_DATA))
    batches = brewed(blank(problem, 1), np.random.default_rng(8))
    model, rng = Model(batches), np.random.default_rng(9)
    state = rng.standard_normal((len(model.names), 512))
    level = model.log_likelihood(state)
    reference, kept = prior_reference(len(model.names)), []
    for step in range(250):
        power = min(1.0, (step + 1) / 60) ** 3
        state, level = slice_step(model.log_likelihood, reference, rng, state, level, power)
        if step >= 100:
            kept.append(state)
    flat = np.concatenate(kept, axis=1)

    learned = update(problem, batches, keep=30, time_limit_s=0)

    mean = np.array([learned.mean(n) for n in model.names])
    spread = np.array([learned.standard_deviation(n) for n in model.names])
    gap = (mean - flat.mean(axis=1)) / flat.std(axis=1)
    assert float(np.sqrt(np.mean(gap**2))) < 0.05
    assert np.abs(gap).max() < 0.2
    assert spread / flat.std(axis=1) == pytest.approx(np.ones(len(spread)), abs=0.08)


@pytest.mark.slow(8)
def test_six_batches_are_learned_to_a_twentieth_of_their_spread():
    """Row by row of the budget: rms error of the posterior means below 0.05 sd over seeds."""
    log = read_batches(LOG, LAGER)
    problem = log.batches[-1].problem

    runs = [update(problem, log.batches, seed=seed, time_limit_s=0) for seed in range(3)]

    names = Model(log.batches).names
    means = np.array([[run.mean(n) for n in names] for run in runs])
    spread = np.array([runs[0].standard_deviation(n) for n in names])
    error = means.std(axis=0, ddof=1) / spread
    assert float(np.sqrt(np.mean(error**2))) < 0.055
    assert max(run.precision for run in runs) < 0.08


@pytest.mark.slow(9)
def test_the_next_batch_falls_into_the_learned_interval():
    """Coverage on synthetic breweries: 12 breweries x 4 readings, 90 % intervals."""
    problem = brewsim.pose(parse_recipe(OWN_DATA))
    rng, inside = np.random.default_rng(21), []
    for seed in range(12):
        batches = brewed(blank(problem, 3), rng)
        learned = update(
            problem, batches[:2], seed=seed, chains=128, burn=3, keep=2, time_limit_s=0
        )
        pair = two_brews(learned, problem, [q for q, *_ in READ], seed)
        for reading in batches[2].readings:
            log = reading.scale == "log"
            value = pair[reading.quantity][0]
            value = np.log(value) if log else value
            seen = np.log(reading.value) if log else reading.value
            error = reading.bias * np.tile(learned.draws[f"{reading.instrument} @bias"], 8)
            error = error + reading.noise * rng.standard_normal(len(value))
            low, high = np.quantile(value + error, [0.05, 0.95])
            inside.append(low <= seen <= high)

    assert sum(inside) >= stats.binom.ppf(0.001, len(inside), 0.9)
    assert sum(inside) < len(inside)


def test_observed_scatter_is_held_against_the_expected_one():
    log = read_batches(LOG, LAGER)
    learned = update(log.batches[-1].problem, log.batches, time_limit_s=5)

    found = {s.quantity: s for s in spreads(learned, learned.problem)}

    one = found["final_gravity_sg"]
    values = [r.value for b in log.batches for r in b.readings if r.quantity == one.quantity]
    values = [v for v in values if v > 1.0]
    assert one.observed == pytest.approx(np.std(values, ddof=1))
    assert one.expected == pytest.approx(np.hypot(one.brew, one.reading))
    assert one.chance < 0.05
