"""How a number reads: rounding is a promise of this house, not of a published source."""

import json
import subprocess
from pathlib import Path

import numpy as np
import pytest
from playwright._impl._driver import compute_driver_executable

from brewsim.page import page
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import (
    heading,
    in_words,
    number,
    reading,
    span,
    spread,
    step,
    times,
    together,
    value,
    with_unit,
)
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Written


@pytest.mark.parametrize(
    ("name", "model", "said"),
    [
        ("alcohol_by_volume_fraction", 0.0504, "5.0"),
        ("original_gravity_sg", 1.04849, "1.048"),
        ("original_extract_plato", 11.96, "12.0"),
        ("bitterness_ibu", 21.6, "22"),
        ("beer_color_ebc", 7.4, "7"),
        ("precursor_dose_g_l", 2.46, "2.46"),
        ("free_3sh_ng_l", 43.7, "44"),
        ("free_3sh_ng_l", 1234.0, "1200"),
        ("free_4msp_ng_l", 0.834, "0.83"),
        ("thiol_lead", 1.0, "2×"),
        ("thiol_lead", -2.0, "0.25×"),
        ("thiol_lead", -0.04, "0.97×"),
        ("bitterness_to_gravity", -0.084, "−0.08"),
        ("bitterness_to_gravity", -0.001, "0.00"),
        ("bitterness_ibu", -0.4, "0"),
        ("bitterness_ibu", 2.5, "3"),
        ("bitterness_ibu", float("nan"), "no value"),
        ("free_3sh_ng_l", 0.01234, "0.012"),
        ("free_3sh_ng_l", 0.0996, "0.10"),
        ("free_3sh_ng_l", 99.6, "100"),
        ("free_3sh_ng_l", 0.0, "0"),
    ],
)
def test_numbers_are_rounded_as_brewers_round_them(name, model, said):
    assert value(outcome_of(name), model) == said


def test_a_number_that_rounds_to_nothing_has_no_sign():
    assert number(-0.04, 1) == "0.0"


def test_negative_numbers_carry_a_real_minus():
    assert number(-1.26, 1) == "−1.3"


@pytest.mark.parametrize(
    ("quantity", "model", "said"),
    [
        ("alcohol_by_volume_fraction", 0.051, "5.1 % ABV"),
        ("original_gravity_sg", 1.048, "1.048"),
        ("thiol_lead", 1.0, "2×"),
        ("carbonation_vol", 2.41, "2.4 vol"),
    ],
)
def test_a_gravity_and_a_fold_have_no_unit(quantity, model, said):
    row = outcome_of(quantity)

    assert with_unit(row, value(row, model)) == said


def test_a_column_is_headed_by_label_and_unit():
    assert heading(outcome_of("original_gravity_sg")) == "original gravity (SG)"
    assert heading(outcome_of("thiol_lead")) == "thiol lead over the hops"


def test_a_lead_is_said_in_folds_in_a_span_a_step_and_a_spread():
    lead = outcome_of("thiol_lead")

    assert span(lead, -1.4, 3.7) == "0.38× to 13×"
    assert step(lead, 0.07) == "1.05×"
    assert spread(lead, 1.0) == "a factor 2"


@pytest.mark.parametrize(
    ("quantity", "model", "said"),
    [
        ("original_gravity_sg", 1.0485, "1.0485"),
        ("original_gravity_sg", 1.049, "1.049"),
        ("free_3sh_ng_l", 215.0, "215"),
        ("free_3sh_ng_l", 210.0, "210"),
        ("alcohol_by_volume_fraction", 0.0512, "5.12"),
    ],
)
def test_a_reading_keeps_the_digit_the_brewer_read(quantity, model, said):
    assert reading(outcome_of(quantity), model) == said


@pytest.mark.parametrize(
    ("quantity", "model", "said"),
    [
        ("original_gravity_sg", -0.00212, "−0.0021"),
        ("original_gravity_sg", 0.00001, "0"),
        ("bitterness_ibu", 3.42, "+3.4"),
        ("free_3sh_ng_l", -123.0, "−120"),
    ],
)
def test_a_step_has_a_sign_and_one_digit_more(quantity, model, said):
    assert step(outcome_of(quantity), model) == said


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("-0.23 ± 0.07", "", "nine in ten between −0.30 and −0.16"),
        ("-3 to -2 °C", "Δ°C", "nine in ten between −3.0 and −2.0 °C"),
        ("between -30 and 20", "", "anywhere between −30 and 20, never outside"),
    ],
)
def test_a_span_below_nothing_is_told_in_words(text, unit, said):
    assert in_words(read_phrase(Written(text), unit)) == said


def test_numbers_together_are_rounded_alike_and_lose_no_sign():
    assert together((1.234, -0.04, 12.0), 12.0, 0) == ["1", "0", "12"]
    assert together((1.234, -0.04, 2.0), 2.0, 0) == ["1.2", "0.0", "2.0"]


def test_the_page_s_script_writes_every_number_as_python_does(tmp_path):
    """The dials write numbers in the browser; the node of playwright runs the same two."""
    script = Path(page.__file__).with_name("templates") / "dials.js"
    text = script.read_text(encoding="utf-8")
    functions = text[text.index("  function number(") : text.index("  const shown")]
    drawn = np.random.default_rng(1).normal(size=400) * 10.0 ** np.arange(-4, 4).repeat(50)
    values = [0.0, 0.5, 2.5, -0.04, 0.0996, 9.96, 99.6, 1234.0, *drawn.tolist()]
    cases = [(v, d, f) for v in values for d, f in ((0, 2), (1, 2), (3, 2), (None, 2), (None, 3))]
    (tmp_path / "run.js").write_text(
        f"{functions}\nconst cases = {json.dumps(cases)};\n"
        "console.log(JSON.stringify([cases.map((c) => number(...c)),"
        " cases.map((c) => Math.abs(c[0]) < 20 ? times(c[0]) : '')]));",
        encoding="utf-8",
    )
    node, _ = compute_driver_executable()
    ran = subprocess.run(
        [node, tmp_path / "run.js"], capture_output=True, text=True, check=True, timeout=60
    )
    numbers, folds = json.loads(ran.stdout)

    assert numbers == [number(*case) for case in cases]
    usual = [(f, v) for f, (v, _, _) in zip(folds, cases, strict=True) if abs(v) < 20]
    assert [f for f, _ in usual] == [times(v) for _, v in usual]
