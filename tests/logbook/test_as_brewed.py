"""What a batch changed: a fault names the line of the log, not of the recipe."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from tests.texts import beer, hop, problem_of

RECIPE = beer(hop(), hop(variety="Fuggle", mass="20 g"))


def faults_of(*changed, recipe=RECIPE):
    text = '[[batch]]\nid = "A"\ndate = 2024-09-14\n[batch.changed]\n' + "\n".join(changed)
    with pytest.raises(InputError) as caught:
        parse_batches(text, recipe, "log.toml")
    return caught.value.faults


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('"hop 2 mass" = "2 kg"', "40 g/L is the most"),
        ('"hop 2 mass" = "2 L"', "measures a volume"),
        ('"malt 1 mass" = "90 kg"', "more than 1.5 kg/L"),
        ('"hop 9 mass" = "2 g"', "there is no hop 9"),
    ],
)
def test_a_fault_of_a_change_names_its_line_of_the_log(line, told):
    name = line.partition("=")[0].strip().strip('"')

    (fault,) = faults_of('mash = "67 °C"', line)

    assert fault.startswith(f"line 6, batch A, changed {name}: ")
    assert told in fault
    assert fault.count(name) == 1


def test_a_fault_of_changes_together_names_the_batch():
    (fault, *_) = faults_of(
        '"package carbonation" = "2.6 vol"',
        '"package priming" = "6 g/L glucose"',
        recipe=RECIPE.replace('carbonation = "2.5 vol"\n', "").replace("keg", "bottle"),
    )

    assert fault.startswith("line 1, batch A, changed: ")


def test_a_fault_of_the_recipe_is_told_as_the_recipes():
    (fault,) = faults_of('mash = "67 °C"', recipe=RECIPE.replace('"75 %"', '"175 %"'))

    assert fault.startswith("the recipe of batch A: line 4, efficiency")


def test_a_batch_that_took_nothing_of_a_hop_left_it_out():
    text = (
        '[[batch]]\nid = "A"\ndate = 2024-09-14\n[batch.changed]\n'
        '"hop 1 mass" = "0 oz"\n"hop 2 mass" = "30 g"\n'
    )
    knobs = '[knobs]\n"hop 2 mass" = "0 to 40 g"\n'

    (batch,) = parse_batches(text, f"{RECIPE}\n{knobs}", "log.toml").batches

    assert batch.problem.row_labels["hop"] == ("Fuggle, 60 min",)
    assert float(batch.problem.fixed["hop_mass_g"][0, 0]) == 30


def test_a_batch_without_any_grist_is_refused():
    (fault,) = faults_of('mash = "67 °C"', '"malt 1 mass" = "0.0 kg"')

    assert fault.startswith("line 6, batch A, changed malt 1 mass: the recipe has no malt")


def problem_of_batch(*changed, recipe):
    text = '[[batch]]\nid = "A"\ndate = 2024-09-14\n[batch.changed]\n' + "\n".join(changed)
    (batch,) = parse_batches(text, recipe, "log.toml").batches
    return batch.problem


def test_another_yeast_does_not_keep_the_attenuation_stated_of_the_first():
    stated = RECIPE.replace('name = "clean ale yeast"', 'attenuation = "79 to 82 %"')
    ale = RECIPE.replace("clean ale yeast", "English ale yeast")
    changed = '"yeast name" = "English ale yeast"'

    found = [
        problem_of_batch(*lines, recipe=stated).factor("strain_attenuation_fraction").distribution
        for lines in ([changed], ['"yeast attenuation" = "60 to 64 %"', changed])
    ]

    assert found[0] == problem_of(ale).factor("strain_attenuation_fraction").distribution
    assert found[1].median == pytest.approx(0.62, abs=1e-3)


def test_another_hop_does_not_keep_the_lot_and_the_alpha_of_the_first():
    stated = RECIPE.replace('variety = "Fuggle"', 'variety = "Fuggle"\nalpha = "9.9 %"\nlot = "F1"')
    changed = ('"hop Fuggle mass" = "25 g"', '"hop 2 variety" = "Glacier"')

    problem = problem_of_batch(*changed, recipe=stated)

    alphas = {f.label: f.distribution.median for f in problem.factors if "stated_alpha" in f.id}
    (glacier,) = [value for label, value in alphas.items() if "Glacier" in label]
    assert glacier < 0.08
    assert not any("F1" in label for label in alphas)
