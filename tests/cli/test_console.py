"""Tables on a terminal: they fit, lose no word, and count letters as wide as they are shown."""

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from brewsim.cli import console as say
from brewsim.cli.encoding import printable
from brewsim.errors import InputError


def printed(capsys, *args):
    say.table(*args)
    return capsys.readouterr().out.splitlines()


def test_a_table_that_fits_is_as_narrow_as_its_cells(capsys):
    lines = printed(capsys, "Hops", ("hop", "mass"), [("Fuggle", "40 g"), ("Galena", "8 g")])

    assert lines == [
        "Hops",
        "hop    │ mass",
        "━━━━━━━┿━━━━━",
        "Fuggle │ 40 g",
        "Galena │  8 g",
    ]


def test_a_long_cell_is_folded_between_words_and_its_row_stays_together(capsys):
    long = "wort left under the false bottom and in hoses, every drop of it, as the recipe says"

    lines = printed(capsys, "", ("input", "value"), [(long, "1 L"), ("pH", "5.4")])

    assert max(map(len, lines)) <= 80
    first, second = lines[2].split(" │ ")[0], lines[3].split(" │")[0]
    assert f"{first.strip()} {second.strip()}" == long
    assert lines[2].endswith("│   1 L")
    assert lines[4].split("│")[1].strip() == "5.4"


def test_letters_two_columns_wide_count_as_two(capsys):
    lines = printed(capsys, "", ("酒花名称", "g"), [("酒花" * 60, "1"), ("é" * 3, "12")])

    assert max(map(cell_len, lines)) <= 80
    assert "".join(line.split("│")[0].strip() for line in lines[2:-1]) == "酒花" * 60
    assert len({cell_len(line.split("│")[0]) for line in [lines[0], *lines[2:]]}) == 1


@given(
    st.lists(
        st.tuples(*[st.text(st.characters(categories=["L", "N", "Zs"]), max_size=90)] * 3),
        max_size=6,
    )
)
def test_no_table_is_wider_than_80_columns(rows):
    widths = say._widths([("input", "value", "spread"), *rows], 74)

    lines = [line for row in rows for line in say._row(row, widths)]

    assert all(cell_len(line) <= 80 for line in lines)
    told = "".join("".join(line.split("│")) for line in lines)
    assert sorted("".join(told.split())) == sorted(
        "".join("".join(c.split()) for r in rows for c in r)
    )


def test_a_cell_of_two_lines_keeps_both_in_its_column(capsys):
    lines = printed(capsys, "", ("", "strength"), [("as planned", "4.2\n3.7 to 4.7")])

    assert lines[2:] == ["as planned │        4.2", "           │ 3.7 to 4.7"]


def test_words_stay_whole_while_another_column_can_give_way(capsys):
    header = ("setting", "original gravity (SG)", "bitterness (IBU)", "thiol lead (doublings)")
    row = ("beta-lyase-active yeast, all of it", "1.040 to 1.050", "20 to 40", "-1.0 to 1.0")

    lines = printed(capsys, "", (*header, "all targets"), [(*row, "49 of 50")])

    told = " ".join(lines).split()
    assert max(map(len, lines)) <= 80
    for word in ("original", "bitterness", "(doublings)", "beta-lyase-active"):
        assert word in told


def test_what_steers_a_terminal_is_shown_and_not_obeyed(capsys):
    say.lines("a\x1b]0;title\x07b")
    say.table("t\x1b[2J", ("a\x07",), [("b\x9b",)])
    say.faults(InputError("x\x1b.toml", ["\u202egpj"]))
    out, err = capsys.readouterr()

    assert "a\\x1b]0;title\\x07b" in out
    assert not any(c in out + err for c in "\x1b\x07\x9b\u202e")
    assert printable("19 °C, é, 日本") == "19 °C, é, 日本"
