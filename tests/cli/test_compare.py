"""brewsim compare: pairs, folds, and the ratio of variances."""

from pathlib import Path

THIOL = Path(__file__).resolve().parents[1] / "recipes" / "thiol-pale.toml"


def test_less_powder_prints_lower_pairs_a_fold_and_the_variance_ratio(run, tmp_path):
    other = tmp_path / "less.toml"
    other.write_text(THIOL.read_text(encoding="utf-8").replace('"70 g"', '"28 g"'), "utf-8")

    result = run("compare", THIOL, other)

    assert result.exit_code == 0, result.exception
    assert "× 0." in result.output
    assert "50 / 0" in result.output
    assert "Variance ratio" in result.output
    assert "Smaller than what repeat brews differ by" in result.output


def test_the_same_file_twice_is_fifty_ties_in_everything(run, demo):
    result = run("compare", demo("lager"), demo("lager"))

    assert "The same in every batch (50 ties of 50)" in result.output
    assert "×" not in result.output
