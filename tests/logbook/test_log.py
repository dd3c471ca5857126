"""The batch log: what is read, what is refused, what a batch did otherwise."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches, read_batches
from brewsim.quantities.gravity import gravity_of_beer
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.model.sampling import assemble

DEMOS = Path(__file__).resolve().parents[2] / "demo-recipes"
LAGER = (DEMOS / "quillhaven-lager.toml").read_text(encoding="utf-8")
TODAY = dt.date(2026, 6, 30)


def log_of(readings, *, more="", head=""):
    lines = "\n".join(readings)
    text = f'{head}\n[[batch]]\nid = "A"\ndate = 2026-03-01\n{more}\n[batch.readings]\n{lines}\n'
    return parse_batches(text, LAGER, "log.toml", today=TODAY)


def faults_of(readings, **also):
    with pytest.raises(InputError) as caught:
        log_of(readings, **also)
    return caught.value.faults


def only(log):
    return log.batches[0].readings[0]


def test_a_reading_takes_bias_and_noise_from_its_instrument():
    reading = only(log_of(['bitterness = "22 IBU by lab bitterness"']))

    assert (reading.quantity, reading.value, reading.noise) == ("bitterness_ibu", 22, 0.86)
    assert (reading.bias, reading.instrument) == (1.8, "lab bitterness")


def test_a_reading_without_instrument_says_which_was_assumed():
    log = log_of(['original_gravity = "1.047"'])

    assert only(log).instrument == "consumer hydrometer"
    assert log.remarks == ("original_gravity: taken as read by a consumer hydrometer",)


def test_a_spread_of_ones_own_is_nine_in_ten():
    reading = only(log_of(['energy_kcal_l = "450 ± 10 kcal/L"']))

    assert reading.noise == pytest.approx(10 / 1.6449, rel=1e-4)


def test_gravity_by_a_density_meter_is_its_extract():
    reading = only(log_of(['original_gravity = "1.048 by bench density meter"']))

    assert reading.quantity == "original_extract_plato"
    assert reading.value == pytest.approx(11.9, abs=0.05)


def test_a_calibration_tells_about_the_instrument_only():
    head = '[instrument.mine]\nkind = "consumer hydrometer"\n[[calibration]]\n'
    head += 'instrument = "mine"\nread = "1.002"\nknown = "1.000"\n'

    found = log_of(['final_gravity = "1.010 by mine"'], head=head).batches[0].readings

    assert [(r.value, r.known, r.instrument) for r in found] == [
        (1.01, None, "mine"),
        (1.002, 1.0, "mine"),
    ]


def test_tasters_are_counted():
    reading = only(log_of(['tasters = "7 of 10"']))

    assert (reading.quantity, reading.value, reading.trials) == ("detecting_taster_share", 7, 10)


@pytest.mark.parametrize(("before", "after"), [(13.0, 6.6), (11.4, 5.2), (15.5, 8.0), (10.0, 5.0)])
def test_the_refractometer_cubic_stands_near_its_straight_form(before, after):
    """S. Terrill (2011) gives a cubic and a straight line, 1 - .00085683 a + .0034941 b."""
    a, b = before / 1.04, after / 1.04
    straight = 1.0 - 0.00085683 * a + 0.0034941 * b

    assert gravity_of_beer(before, after) == pytest.approx(straight, abs=0.0025)


def test_the_refractometer_cubic_rises_with_what_is_left_to_ferment():
    assert gravity_of_beer(12, 5) < gravity_of_beer(12, 6) < gravity_of_beer(12, 9)


def test_a_refractometer_reading_of_beer_needs_the_one_before():
    pair = [
        'original_extract = "12.6 °Bx by refractometer"',
        'final_gravity = "6.2 °Bx by refractometer"',
    ]

    found = {r.quantity: r.value for r in log_of(pair).batches[0].readings}

    assert found["original_extract_plato"] == pytest.approx(12.6 / 1.04)
    assert found["final_gravity_sg"] == pytest.approx(gravity_of_beer(12.6, 6.2), abs=1e-6)
    assert "before fermentation" in faults_of(pair[1:])[0]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('alcohol = "4.2"', "no unit"),
        ('original_gravity = "1.9 by consumer hydrometer"', "1.9"),
        ('bitterness = "-3 IBU"', "impossible"),
        ('bitternes = "22 IBU"', "bitterness"),
        ('bitterness = "22 IBU by lab biterness"', "Did you mean lab bitterness"),
        ('bitterness = "22 IBU by volume mark"', "does not read"),
        ('bitterness = ["22 IBU", "22 IBU"]', "twice"),
        ('tasters = "9 of 7"', "cannot be"),
        ('tasters = "60 %"', "7 of 10"),
        ('thiol_lead = "7 of 9"', "go under tasters"),
        ('energy_kcal_l = "450 kcal/L"', "±"),
        ('bitterness = "20 to 30 IBU or so"', "bitterness"),
    ],
)
def test_a_wrong_reading_is_refused_with_its_line(line, told):
    (fault,) = faults_of([line])

    assert fault.startswith("line 7")
    assert told in fault


def test_all_faults_come_at_once_in_the_order_of_lines():
    text = """
[[batch]]
id = "A"
date = 2027-01-01
[batch.readings]
alcohol = "4.2"
[[batch]]
id = "A"
date = 2026-01-01
[[batch]]
id = "B"
date = "last week"
changed = { "hop 9 mass" = "3 g" }
"""
    with pytest.raises(InputError) as caught:
        parse_batches(text, LAGER, "log.toml", today=TODAY)

    told = "\n".join(caught.value.faults)
    assert len(caught.value.faults) == 5
    for word in ("future", "no unit", "twice", "year-month-day", "no hop 9"):
        assert word in told


def test_beer_denser_than_its_wort_is_refused():
    (fault,) = faults_of(
        [
            'original_gravity = "1.040 by consumer hydrometer"',
            'final_gravity = "1.045 by consumer hydrometer"',
        ]
    )

    assert "denser" in fault


def test_what_was_changed_is_put_into_the_recipe_of_that_batch_only():
    more = 'changed = { "hop 1 mass" = "38 g", "mash" = "68 °C", "hop 1 lot" = "H25" }'
    text = f"""
[[batch]]
id = "A"
date = 2026-03-01
{more}
[[batch]]
id = "B"
date = 2026-03-02
[batch.readings]
bitterness = "22 IBU"
"""
    one, other = (b.problem for b in parse_batches(text, LAGER, "x.toml", today=TODAY).batches)

    assert max(one.fixed["hop_mass_g"].ravel()) == 38
    assert max(other.fixed["hop_mass_g"].ravel()) == 40
    assert float(one.fixed["mash_set_temperature_c"][0]) == 68
    assert {f.lot for f in one.factors if f.lot} >= {"Hersbrucker Spät H25"}


def test_csv_says_the_same_as_toml(tmp_path):
    file = tmp_path / "log.csv"
    file.write_text(
        "batch,date,original_gravity by consumer hydrometer,bitterness [IBU],change hop 1 mass\n"
        "A,2026-03-01,1.047,22,38 g\nB,2026-03-08,1.046,,\n",
        encoding="utf-8",
    )

    log = read_batches(file, DEMOS / "quillhaven-lager.toml", today=TODAY)

    assert [len(b.readings) for b in log.batches] == [2, 1]
    assert str(log.entries[0].changed["hop 1 mass"]) == "38 g"
    assert only(log).value == 1.047


def test_a_csv_fault_names_its_line(tmp_path):
    file = tmp_path / "log.csv"
    file.write_text("batch,date,bitterness\nA,2026-03-01,22 IBU\nB,2026-03-08,900 IBU\n")

    with pytest.raises(InputError) as caught:
        read_batches(file, DEMOS / "quillhaven-lager.toml", today=TODAY)

    assert caught.value.faults[0].startswith("line 3")


def test_many_batches_at_once_are_computed_as_one_alone_would_be():
    """Shared and constant parts are computed once; every reading must be what the graph says."""
    log = read_batches(DEMOS / "quillhaven-lager-six-batches.toml", DEMOS / "quillhaven-lager.toml")
    model = Model(log.batches)
    state = np.random.default_rng(3).standard_normal((len(model.names), 5))

    found = model.predicted(state)

    from brewsim.graph.evaluate import run
    from brewsim.study.model.batch import latent_names

    where = {name: i for i, name in enumerate(model.names)}
    for row, (batch, reading) in zip(found, model.readings, strict=True):
        if reading.known is not None:
            continue
        scores = np.zeros((len(batch.problem.factors), 5))
        for place, factor in enumerate(batch.problem.factors):
            for kind, name in latent_names(factor, batch.id).items():
                if name in where:
                    scores[place] += np.sqrt(dict(factor.kinds.items())[kind]) * state[where[name]]
        graph = batch.problem.graph
        value = run(graph.nodes.values(), assemble(batch.problem, scores))[reading.quantity]
        value = np.log(value) if reading.scale == "log" else value
        name = next(
            n for n in (f"{reading.instrument} @bias", f"{reading.quantity} @bias") if n in where
        )
        assert row == pytest.approx(value + reading.bias * state[where[name]], rel=1e-12)


def test_the_demo_log_is_what_its_script_writes():
    from importlib.util import module_from_spec, spec_from_file_location

    spec = spec_from_file_location("make_demo_log", Path(__file__).parent / "make_demo_log.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    written = (DEMOS / "quillhaven-lager-six-batches.toml").read_text(encoding="utf-8")

    assert module.simulated(module.SEED) == written


def test_a_column_without_units_is_told_where_they_may_stand():
    with pytest.raises(InputError) as caught:
        parse_batches("batch,date,OG\n1,2026-03-14,11.2\n", LAGER, "log.csv", today=TODAY)

    assert "11.2 has no unit" in caught.value.faults[0]
    assert caught.value.faults[-1].endswith("in its heading, in brackets: OG (°P)")
    headed = parse_batches("batch,date,OG (°P)\n1,2026-03-14,11.2\n", LAGER, "log.csv", today=TODAY)
    assert headed.batches[0].readings[0].value == pytest.approx(1.0451, abs=1e-4)


READINGS = {
    "og": "1.047",
    "final extract": "2.4 °P",
    "ibu": "22 IBU",
    "color": "6 EBC",
    "packaged volume": "18.6 L ± 0.2 L",
    "alcohol": "5.1 %",
    "free_3sh": "180 ng/L ± 40 ng/L",
}


@pytest.mark.parametrize("count", [60, 61])
def test_a_batch_of_more_than_60_readings_is_asked_for_their_mean(count):
    values = ", ".join(f'"1.009{n:02}"' for n in range(count))
    if count == 60:
        assert len(log_of([f"final_gravity = [{values}]"]).batches[0].readings) == 60
    else:
        told = " ".join(faults_of([f"final_gravity = [{values}]"]))
        assert "61 readings; 60 are the most of one batch; write those of one value as one" in told


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.sets(st.sampled_from(sorted(READINGS))), min_size=1, max_size=4),
    st.sampled_from(["", 'mash = "67 °C"', '"hop 1 mass" = "30 g"']),
)
def test_a_law_every_log_of_any_readings_has_a_likelihood(read, changed):
    """Not every batch is measured alike, and one of them was brewed otherwise."""
    text = ""
    for place, names in enumerate(read):
        text += f'[[batch]]\nid = "{place}"\ndate = 2026-03-0{place + 1}\n'
        text += f"[batch.changed]\n{changed}\n" if place == 0 else ""
        lines = "".join(f'"{name}" = "{READINGS[name]}"\n' for name in sorted(names))
        text += f"[batch.readings]\n{lines}"
    log = parse_batches(text, LAGER, "log.toml", today=TODAY)
    if not any(read):
        return
    model = Model(log.batches)
    state = np.random.default_rng(5).standard_normal((len(model.names), 2))

    assert np.isfinite(model.log_likelihood(state)).all()
    assert np.isfinite(Linearisation(model).slopes(state)[2]).all()


@pytest.mark.parametrize("volume", ["900 L", "2 L"])
def test_a_batch_of_another_size_is_of_another_recipe(volume):
    (told,) = faults_of([f'fermenter_volume = "{volume}"'])

    assert f"of {volume}, where this recipe makes 2" in told
    assert "is it its batch?" in told
