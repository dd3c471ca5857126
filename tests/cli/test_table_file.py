"""Tables in files, draws by --out, and standard input: what other programs meet."""

import csv
import io
import sys

import pytest
import xarray as xr

from tests.door import DEMOS
from tests.door import brewsim as command
from tests.small_brewhouse import MORE_KNOBS, TASTED, write

LAGER = DEMOS / "quillhaven-lager.toml"
FEW = ("--draws", "512")


def read(text):
    return list(csv.reader(io.StringIO(text)))


def test_out_writes_the_table_that_is_printed(tmp_path):
    done = command("simulate", LAGER, *FEW, "--out", "table.csv", folder=tmp_path)
    rows = read((tmp_path / "table.csv").read_text(encoding="utf-8"))

    assert done.code == 0
    assert rows[0] == ["the next batch, nine chances in ten", "from", "median", "to", "in target"]
    assert len(rows) > 8
    assert all(len(row) == 5 for row in rows)
    assert all(row[1] in done.out for row in rows[1:])


def test_out_dash_prints_csv_and_nothing_else(tmp_path):
    done = command("simulate", LAGER, *FEW, "--out", "-", folder=tmp_path)

    assert done.code == 0
    assert {len(row) for row in read(done.out)} == {5}
    assert "draws, seed" not in done.out


def test_several_tables_stand_each_under_its_title(tmp_path):
    done = command("check", LAGER, "--out", "tables.csv", folder=tmp_path)
    text = (tmp_path / "tables.csv").read_text(encoding="utf-8")

    assert done.code == 0
    assert text.startswith("I understood\n")
    assert "\n\nI assumed\n" in text


def test_out_with_nc_keeps_the_draws(tmp_path):
    done = command("simulate", LAGER, *FEW, "--out", "draws.nc", folder=tmp_path)

    assert done.code == 0
    assert done.out.endswith("draws.nc written.\n")
    with xr.open_dataset(tmp_path / "draws.nc", engine="scipy") as draws:
        assert draws.sizes["draw"] == 512


def test_two_files_for_the_draws_are_one_too_many(tmp_path):
    both = ("--save", "one.nc", "--out", "two.nc")
    done = command("simulate", LAGER, *FEW, *both, folder=tmp_path)

    assert done.code == 2
    assert "two.nc and --save one.nc: name one of them" in done.err
    assert not list(tmp_path.iterdir())


def test_out_replaces_its_own_table_and_nothing_else(tmp_path):
    (tmp_path / "log.csv").write_text("id,OG\nB1,1.050\n", encoding="utf-8")

    for _ in range(2):
        assert command("simulate", LAGER, *FEW, "--out", "table.csv", folder=tmp_path).code == 0
    other = command("simulate", LAGER, *FEW, "--out", "log.csv", folder=tmp_path)
    wrong = command("simulate", LAGER, *FEW, "--out", "table.xlsx", folder=tmp_path)
    both = command("simulate", LAGER, *FEW, "--json", "--out", "a.csv", folder=tmp_path)

    assert [done.code for done in (other, wrong, both)] == [2, 2, 2]
    assert "holds something else" in other.err
    assert "write table.csv" in wrong.err
    assert "with --json there are none" in both.err
    assert (tmp_path / "log.csv").read_text(encoding="utf-8") == "id,OG\nB1,1.050\n"


@pytest.mark.parametrize("words", [("check", "-"), ("simulate", "-", *FEW), ("trace", "-", "OG")])
def test_a_recipe_is_read_from_standard_input(words, tmp_path, monkeypatch):
    text = LAGER.read_text(encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), "utf-8"))

    from_input = command(*words, folder=tmp_path)
    from_file = command(words[0], LAGER, *words[2:], folder=tmp_path)

    assert from_input[:2] == from_file[:2]
    assert from_input.code == 0


def test_a_fault_in_standard_input_is_told_with_its_line(tmp_path, monkeypatch):
    text = 'name = "x"\nvolume = "20 parsecs"\nboil = "60 min"\n'
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), "utf-8"))

    done = command("check", "-", folder=tmp_path)

    assert done.code == 2
    assert "line 2" in done.err


def test_the_other_recipe_and_own_priors_are_read_from_standard_input(tmp_path, monkeypatch):
    def given(text):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), "utf-8"))

    given((DEMOS / "quillhaven-bitter.toml").read_text("utf-8"))
    compared = command("compare", LAGER, "-", "--out", "-", folder=tmp_path)
    given(command("priors", "--new", "hop", "Ours", folder=tmp_path).out)
    checked = command("check", LAGER, "--priors", "-", folder=tmp_path)

    assert (compared.code, checked.code) == (0, 0)
    assert compared.out.startswith("second less first,")


@pytest.mark.slow
@pytest.mark.parametrize(
    "words", [("steer", "--wish", "bitterness: just right", "--batches"), ("specify", "--log")]
)
def test_a_log_is_read_from_standard_input(words, tmp_path, monkeypatch):
    write(tmp_path, knobs=MORE_KNOBS.partition("\n")[0], log=TASTED)
    name, *more = words
    given = io.BytesIO((tmp_path / "log.toml").read_bytes())
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(given, "utf-8"))

    from_input = command(name, "r.toml", *more, "-", folder=tmp_path)
    from_file = command(name, "r.toml", *more, "log.toml", folder=tmp_path)

    assert from_input[:2] == from_file[:2]
    assert (from_input.code, from_input.err) == (0, from_file.err)


def test_a_fault_in_a_log_on_standard_input_is_told_with_its_line(tmp_path, monkeypatch):
    text = '[[batch]]\nid = "B1"\ndate = 2026-03-01\n[batch.readings]\nOG = "1.050 parsecs"\n'
    for words in (("steer", LAGER, "--batches", "-"), ("specify", LAGER, "--log", "-")):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), "utf-8"))
        done = command(*words, folder=tmp_path)

        assert done.code == 2
        assert "line 5" in done.err


def test_what_own_priors_change_is_kept_as_a_table(tmp_path):
    own = '[grain_absorption_l_kg]\nfamily = "lognormal"\nmedian = 1.5\nlog_sd = 0.1\n'
    own += 'unit = "L/kg"\nkinds = { knowledge = 1.0 }\ngrade = "assumption"\nsource = "mine"\n'
    own += 'note = "x"\n[sources.mine]\ntext = "weighed"\n'
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    words = ("priors", "--compare", "own.toml", "--recipe", DEMOS / "quillhaven-pale.toml")

    done = command(*words, "--out", "changed.csv", folder=tmp_path)

    assert done.code == 0, done.err
    first = (tmp_path / "changed.csv").read_text("utf-8").splitlines()[0]
    assert first == '"the next batch, nine chances in ten",shipped priors,yours,spread then'
