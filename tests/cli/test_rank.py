"""brewsim rank: choices stand beside the inputs, and every input says what can be done."""

import json
from pathlib import Path

THIOL = Path(__file__).resolve().parents[1] / "recipes" / "thiol-pale.toml"


def test_yeast_and_formula_are_rows_beside_the_inputs(run):
    result = run("rank", THIOL, "--outcome", "thiol_to_bitterness")

    assert result.exit_code == 0, result.exception
    assert "choice: thiol release of the yeast" in result.output
    assert "choice: bitterness formula" in result.output
    assert "if each of its options were as likely" in result.output
    for mark in ("turn", "measure", "nobody", "choose"):
        assert mark in result.output


def test_json_gives_the_share_of_every_choice(run):
    content = json.loads(run("rank", THIOL, "--outcome", "bitterness", "--json").output)
    shares = {
        name.split(" (")[0]: row["bitterness_ibu"]["total_order"]
        for name, row in content["choices"].items()
    }

    assert shares["bitterness formula"] > 0.5
    assert shares["thiol release of the yeast"] == 0
