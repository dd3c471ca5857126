"""Logs from files: columns, the demo's own, many batches at once, and laws of any log."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches, read_batches
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.model.sampling import assemble
from tests.logbook.logs import DEMOS, LAGER, TODAY, faults_of, log_of, only


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
