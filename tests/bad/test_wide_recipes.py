"""Recipes so wide that some draws leave no wort: a whole page, or a refusal in words."""

import re

import pytest

from tests.door import brewsim
from tests.texts import TOP, beer, hop

TARGETS = '[targets]\nbitterness = "20 to 40 IBU"\nalcohol = "4.5 to 5.5 %"\n'
NO_NUMBER = re.compile(r"(?<![\w“])[-−+]?(?:nan|inf|NaN|Infinity)(?![\w”])")
SCRIPT = re.compile(r"<(script|style)\b.*?</\1>", re.DOTALL)


def of(line="", *, volume="20 L", efficiency="75 %"):
    top = TOP.replace('"20 L"', f'"{volume}"').replace('"75 %"', f'"{efficiency}"')
    return beer(hop(), TARGETS, line, top=top)


WIDE = {
    "evaporation 1 to 40 L/h": of('[brewhouse]\nevaporation = "1 to 40 L/h"\n'),
    "efficiency 0 %": of(efficiency="0 %"),
    "20 L sd 19 L": of(volume="20 L sd 19 L"),
    "20 L within a factor 20": of(volume="20 L within a factor 20"),
}


@pytest.mark.slow
@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", WIDE)
def test_a_page_of_a_wide_recipe_is_whole_or_refused_in_words(tmp_path, name):
    (tmp_path / "r.toml").write_text(WIDE[name], encoding="utf-8")
    done = brewsim("report", "r.toml", "--light", "--quiet", "--draws", "256", folder=tmp_path)

    assert done.code in (0, 2), done.err
    assert "Traceback" not in done.err
    if done.code == 2:
        assert done.err.endswith("nothing was written.\n")
        return
    page = SCRIPT.sub("", (tmp_path / "r.html").read_text(encoding="utf-8"))
    words = re.sub(r"<[^>]+>", " ", page)
    assert not NO_NUMBER.search(words + done.out)
