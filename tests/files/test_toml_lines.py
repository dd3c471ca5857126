"""TOML as people write it: which characters end a line, and keys that are brewsim's own."""

import tomllib

import pytest

from brewsim.errors import InputError
from brewsim.files.toml_lines import left_open, lines_of, load, locate
from brewsim.recipe.read import parse_recipe
from tests.texts import beer


@pytest.mark.parametrize("mark", ["\u2028", "\u2029", "\u0085"])
def test_only_a_line_feed_ends_a_comment(mark):
    text = f'# strike water{mark}mash = "75 °C"\nboil = "60 min"\n'

    assert load(text) == ({"boil": "60 min"}, [])
    assert load(text)[0] == tomllib.loads(text)
    assert locate(text) == {("boil",): 2, ("boil", 0): 2}


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_of_every_system_end_a_line(end):
    assert lines_of(f"a{end}b{end}") == ["a", "b"]
    assert load(f'a = "1"{end}b = "2"{end}') == ({"a": "1", "b": "2"}, [])


@pytest.mark.parametrize("key", ["__line__", "__remarks__"])
@pytest.mark.parametrize("head", ["", "[[hop]]\n", "[yeast]\n"])
def test_a_key_of_brewsims_own_is_refused_with_its_line(key, head):
    _, faults = load(f'name = "x"\n{head}{key} = "3"\n')

    line = 3 if head else 2
    assert faults == [f"line {line}, {key}: is a key of brewsim's own use; give it another name"]


def test_no_key_is_swallowed_for_what_it_is_called():
    with pytest.raises(InputError, match=r"\(again\) x: is no key"):
        parse_recipe(beer(top='"(again) x" = "1"\nname = "T"\nvolume = "20 L"\n'))


def test_a_header_written_twice_is_told_once_beside_such_a_key():
    kept, faults = load('"(again) x" = "1"\n[yeast]\n[yeast]\nname = "a"\n')

    assert list(kept or {}) == ["(again) x", "yeast"]
    assert faults == ["line 3: “[yeast]” is written twice; keep one"]


def test_a_mark_in_a_text_of_one_line_hides_no_table():
    text = '[[batch]]\nnotes = "it\'\'\'s"\n\n[[batch]]\nid = "B"\n'

    assert locate(text)["batch", 1, "id"] == 5


@pytest.mark.parametrize(
    ("line", "before", "after"),
    [
        ('a = "one"', "", ""),
        ("a = \"''' no\"", "", ""),
        ('a = \'""" no\'  # """', "", ""),
        ('a = "\\"" # "', "", ""),
        ("a = '''", "", "'''"),
        ('text """ [[batch]]', "'''", "'''"),
        ("end'''''", "'''", ""),
        ('a = """x"""  b = """', "", '"""'),
        ('one \\""" two', '"""', '"""'),
        ('one""" # """', '"""', ""),
        ("", "'''", "'''"),
    ],
)
def test_what_a_line_leaves_open_is_known(line, before, after):
    assert left_open(line, before) == after
