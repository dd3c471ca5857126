"""brewsim relot: what to weigh, the bitterness before and after, what was left."""

import json


def test_a_new_lot_prints_masses_and_bitterness_bands(run, demo):
    result = run("relot", demo("lager"), "N24", "--alpha", "6.5 %")

    assert result.exit_code == 0, result.exception
    assert "1.32×" in result.output
    assert "new lot, rescaled" in result.output
    assert result.output.endswith("4096 draws, seed 1.\n")


def test_hops_left_as_weighed_are_named(run, demo):
    result = run("relot", demo("lager"), "H24", "--alpha", "3.4 %")

    assert "left as weighed" in result.output


def test_json_gives_the_factor_and_the_bands(run, demo):
    content = json.loads(
        run("relot", demo("lager"), "N24", "--alpha", "6.5 %", "--all", "--json").output
    )

    assert round(content["factor"], 3) == round(8.6 / 6.5, 3)
    assert set(content["bitterness_ibu"]["old lot"]) == {"low", "middle", "high"}
