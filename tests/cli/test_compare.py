"""brewsim compare: pairs, folds, and the ratio of variances."""

import re
from pathlib import Path

THIOL = Path(__file__).resolve().parents[1] / "recipes" / "thiol-pale.toml"


def test_less_powder_prints_lower_pairs_a_fold_and_the_variance_ratio(run, tmp_path):
    other = tmp_path / "less.toml"
    other.write_text(THIOL.read_text(encoding="utf-8").replace('"70 g"', '"28 g"'), "utf-8")

    result = run("compare", THIOL, other)

    assert result.exit_code == 0, result.exception
    assert re.search(r"0\.\d\d× \(0", result.output)
    assert "below it the second recipe itself, nine in ten" in " ".join(result.output.split())
    assert "50 / 0" in result.output
    assert "Variance ratio" in result.output
    assert "Smaller than what repeat brews differ by" in result.output


def test_the_same_file_twice_is_fifty_ties_in_everything(run, demo):
    result = run("compare", demo("lager"), demo("lager"))

    assert "The same in every batch (50 ties of 50)" in result.output
    assert "×" not in result.output


PILS = """
name = "Pils"
volume = "20 hL"
boil = "70 min"

[[malt]]
name = "Pilsner malt"
mass = "{malt}"

[[hop]]
variety = "Northern Brewer"
alpha = "8.8 %"
mass = "{hop}"
when = "boil 60 min"
"""


def compared(run, tmp_path, first=("370 kg", "1.6 kg"), second=("370 kg", "1.6 kg")):
    """Return what is printed of two recipes of one name, with single blanks throughout."""
    paths = [tmp_path / "old.toml", tmp_path / "new.toml"]
    for path, (malt, hop) in zip(paths, (first, second), strict=True):
        path.write_text(PILS.format(malt=malt, hop=hop), "utf-8")
    result = run("compare", *paths)
    assert result.exit_code == 0, result.exception
    return result.output


def test_recipes_of_one_name_are_told_by_their_files(run, tmp_path):
    assert compared(run, tmp_path).startswith("old.toml against new.toml")


def test_a_difference_has_two_figures_of_its_own(run, tmp_path):
    """A fiftieth less malt: about 0.0002 of final gravity, which is shown to 0.001."""
    row = compared(run, tmp_path, second=("363 kg", "1.6 kg")).split("final gravity")[1][:60]

    assert re.search(r"−0\.000[1-9][0-9] ", row)
    assert "0.000 " not in row


def test_another_mash_beside_a_stated_attenuation_is_told_what_to_add(run, tmp_path):
    """Read for its own mash each, 80 % is 80 %; read for the first one's, 68 °C gives less."""
    lines = PILS.format(malt="370 kg", hop="1.6 kg") + '[yeast]\nattenuation = "80 %"\n'
    paths = [tmp_path / "67.toml", tmp_path / "68.toml"]
    for path in paths:
        path.write_text(lines.replace("boil = ", f'mash = "{path.stem} °C"\nboil = ', 1), "utf-8")
    told = " ".join(run("compare", *paths).output.split())
    advice = 'add attenuation_reference_temperature_c = "67 °C" under [given] of the second'

    assert "read for its own mash, 67 °C and 68 °C" in told
    assert advice in told
    with paths[1].open("a", encoding="utf-8") as file:
        file.write('[given]\nattenuation_reference_temperature_c = "67 °C"\n')
    after = " ".join(run("compare", *paths).output.split())
    assert "own mash" not in after
    assert "strength" in after.split("The same in every batch")[0]
    assert "strength" in told.split("The same in every batch")[1]


def test_what_changes_by_next_to_nothing_is_left_out(run, tmp_path):
    """A twentieth more hops takes a trace more wort with it, which no number of brews shows."""
    output = " ".join(compared(run, tmp_path, second=("370 kg", "1.7 kg")).split())

    assert "Changed by next to nothing: " in output
    assert "packaged volume" in output.split("Changed by next to nothing: ")[1]
    assert "e-0" not in output
