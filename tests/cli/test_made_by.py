"""Every JSON says where it comes from; --strict leaves with 3 where something is in doubt."""

import json
import re

import pytest

from brewsim.answers import coverage, published_brews
from brewsim.cli.commands import COMMANDS
from brewsim.priors.library import load_priors
from tests.door import DEMOS, brewsim
from tests.small_brewhouse import MORE_KNOBS, write

LAGER = DEMOS / "quillhaven-lager.toml"
COMMANDS_WITH_JSON = {
    "report": ["report", "r.toml", "--draws", "256", "--light"],
    "card": ["card", "r.toml"],
    "check": ["check", "r.toml"],
    "simulate": ["simulate", "r.toml", "--draws", "256"],
    "rank": ["rank", "r.toml", "--outcome", "alcohol"],
    "turn": ["turn", "r.toml", "--draws", "64"],
    "steer": ["steer", "r.toml"],
    "compare": ["compare", "r.toml", "r.toml"],
    "relot": ["relot", "r.toml", "N24", "--alpha", "6.5 %", "--draws", "64"],
    "midway": ["midway", "r.toml", "--reading", "preboil_gravity = 1.040"],
    "specify": ["specify", "r.toml"],
    "explain": ["explain", "r.toml", "log.toml"],
    "chart": ["chart", "r.toml", "log.toml"],
    "learn": ["learn", "r.toml", "log.toml", "--house", "h.toml"],
    "house": ["house", "h.toml"],
    "trace": ["trace", "r.toml", "bitterness_ibu"],
    "coverage": ["coverage", "--draws", "256"],
    "glossary": ["glossary"],
    "priors": ["priors", "Fuggle"],
}
MEDIANS = ("check", "trace", "glossary", "priors")


def test_no_command_with_json_is_left_out():
    asked = {c.__name__ for c in COMMANDS if "json" in c.__annotations__}

    assert asked == set(COMMANDS_WITH_JSON)


@pytest.fixture
def folder(tmp_path):
    return write(tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", COMMANDS_WITH_JSON)
def test_every_json_says_where_it_comes_from(name, folder, monkeypatch):
    few = published_brews.read_series(load_priors())[1:4]
    monkeypatch.setattr(coverage, "read_series", lambda _priors: few)
    if name == "house":
        brewsim(*COMMANDS_WITH_JSON["learn"], folder=folder)
    done = brewsim(*COMMANDS_WITH_JSON[name], "--json", folder=folder)
    made = json.loads(done.out)["made_by"]

    assert set(made) == {"brewsim", "json", "seed", "draws", "priors", "trusted", "doubts"}
    assert (made["json"], len(made["priors"])) == (1, 12)
    assert (made["draws"] > 0) is (name not in MEDIANS)
    assert made["seed"] == (None if name in ("check", "trace", "glossary", "house") else 1)


def test_other_priors_have_another_fingerprint(tmp_path):
    entry = brewsim("priors", "--new", "hop", "Our own", folder=tmp_path).out
    (tmp_path / "own.toml").write_text(entry, encoding="utf-8")
    told = [
        json.loads(brewsim("check", LAGER, "--json", *more, folder=tmp_path).out)["made_by"]
        for more in ([], ["--priors", "own.toml"], ["--priors", "own.toml"])
    ]

    assert told[0]["priors"] != told[1]["priors"] == told[2]["priors"]


def test_strict_is_silent_where_nothing_is_in_doubt(tmp_path):
    plain, strict = (brewsim("check", LAGER, *more, folder=tmp_path) for more in ([], ["--strict"]))

    assert (strict.code, strict.err) == (0, "")
    assert strict.out == plain.out


@pytest.mark.parametrize("command", ["check", "simulate", "trace", "midway"])
def test_strict_leaves_with_3_for_a_name_that_is_nearly_known(command, tmp_path):
    text = LAGER.read_text("utf-8").replace(
        'variety = "Northern Brewer"', 'variety = "Northern Bruwer"'
    )
    (tmp_path / "r.toml").write_text(text, encoding="utf-8")
    plain, strict, machine = (
        brewsim(*COMMANDS_WITH_JSON[command], *way, folder=tmp_path)
        for way in ([], ["--strict"], ["--strict", "--json"])
    )

    assert (plain.code, strict.code, machine.code) == (0, 3, 3)
    assert ", and --strict was asked:" in strict.err
    assert "Northern Bruwer" in strict.err
    assert "Northern Bruwer" in json.loads(machine.out)["made_by"]["doubts"][0]


def test_strict_leaves_with_3_for_few_draws_and_for_what_was_assumed(tmp_path):
    few = brewsim("simulate", LAGER, "--draws", "64", "--strict", folder=tmp_path)
    path = DEMOS.parent / "tests/interchange/documents/makers.json"
    taken = brewsim("new", "--from", path, "--strict", folder=tmp_path)

    assert (few.code, taken.code) == (3, 3)
    assert "Few draws" in few.err
    assert "taken as clean ale yeast" in taken.err


@pytest.mark.slow
def test_strict_leaves_with_3_where_single_draws_carry_what_is_ranked(tmp_path):
    """Some draws of such a boil leave hardly any wort, and one of them is the whole variance."""
    text = LAGER.read_text("utf-8")
    assert "evaporation" not in text
    (tmp_path / "r.toml").write_text(
        f'{text}\n[brewhouse]\nevaporation = "0 to 30 L/h"\n', encoding="utf-8"
    )
    asked = ["rank", "r.toml", "--outcome", "bitterness", "--quiet"]
    plain, strict, machine = (
        brewsim(*asked, *way, folder=tmp_path) for way in ([], ["--strict"], ["--strict", "--json"])
    )
    sound = brewsim("rank", LAGER, *asked[2:], "--strict", folder=tmp_path)

    assert (plain.code, strict.code, machine.code, sound.code) == (0, 3, 3, 0)
    assert "Bitterness: no share can be told where single draws carry its variance" in plain.out
    assert "Bitterness: no share can be told where single draws carry its variance" in strict.err
    rough, left_out = json.loads(machine.out)["made_by"]["doubts"]
    assert rough.startswith(
        "Bitterness: no share can be told where single draws carry its variance"
    )
    assert left_out.startswith("Bitterness had no value in 2 of 16,384 draws")
    shares = [
        row[key] for row in json.loads(machine.out)["indices"] for key in row if "order" in key
    ]
    assert None in shares
    assert all(share is None or abs(share) < 10 for share in shares)
    assert plain.err == ""
    assert not re.search(r"\d{4}", plain.out.replace("16,384", ""))


@pytest.mark.slow
def test_strict_leaves_with_3_where_many_knobs_were_tried_alone_only(folder, monkeypatch):
    from brewsim.study.steering import fewest_knobs

    write(folder, knobs=MORE_KNOBS)
    asked = ["steer", "r.toml", "--quiet", "--strict"]
    whole = brewsim(*asked, folder=folder)
    monkeypatch.setattr(fewest_knobs, "MOST_PAIRED", 1)
    part = brewsim(*asked, folder=folder)

    assert (whole.code, part.code) == (0, 3)
    assert "others alone; --knob names those to try" in " ".join(part.err.split())


def test_strict_takes_a_search_that_fresh_draws_do_not_bear_out_as_a_doubt(folder, monkeypatch):
    from brewsim.study.steering.steering import Move

    monkeypatch.setattr(Move, "optimism", property(lambda move: move.chance_error + 0.021))
    done = brewsim("steer", "r.toml", "--quiet", "--strict", "--json", folder=folder)

    assert done.code == 3
    assert "Checked on fresh draws" in done.err
    (doubt,) = json.loads(done.out)["made_by"]["doubts"]
    assert "the search itself saw" in doubt


def test_strict_takes_what_has_not_settled_as_a_doubt(folder, monkeypatch):
    from brewsim.study.inference import convergence

    monkeypatch.setattr(convergence.Reached, "trusted", property(lambda _self: False))
    done = brewsim("explain", "r.toml", "log.toml", "--strict", "--json", folder=folder)

    assert done.code == 3
    assert json.loads(done.out)["made_by"]["trusted"] is False
    assert "has not settled" in done.err


@pytest.mark.slow
def test_learning_that_is_not_to_be_trusted_says_so_first_leaves_with_3_and_keeps_nothing(
    folder, monkeypatch
):
    from brewsim.study.inference import convergence

    monkeypatch.setattr(convergence.Reached, "trusted", property(lambda _self: False))
    asked = {
        "explain": brewsim("explain", "r.toml", "log.toml", folder=folder),
        "learn": brewsim("learn", "r.toml", "log.toml", "--house", "H.toml", folder=folder),
    }

    for done in asked.values():
        assert done.code == 3
        assert done.out.startswith("Not to be trusted: ")
    assert (folder / "H.toml").exists()
    assert not list(folder.glob("*.npz"))
    assert "Nothing learned was kept" in asked["learn"].out


def test_more_time_for_learning_is_passed_on(folder, monkeypatch):
    from brewsim.study.inference import update as updating

    seen = []
    usual = updating._check
    monkeypatch.setattr(updating, "_check", lambda *given: (seen.append(given), usual(*given)))
    limits = []
    monkeypatch.setattr(updating, "usual_limit_s", lambda *_: limits.append(1) or 10.0)

    brewsim("explain", "r.toml", "log.toml", "--time", "3", folder=folder)

    assert seen
    assert not limits
