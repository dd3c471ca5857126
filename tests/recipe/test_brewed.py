"""What a batch changed: a fault names the line of the log, not of the recipe."""

import pytest

from brewsim.errors import InputError
from brewsim.recipe.batches import parse_batches
from tests.recipe.texts import beer, hop

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
