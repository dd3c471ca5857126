"""Documents that nobody wrote in good faith: refused in words, and quickly."""

import json
import time

import pytest

from brewsim.errors import InputError
from brewsim.interchange.from_beerjson import import_beerjson
from tests.interchange.standard import DOCUMENTS

GOOD = (DOCUMENTS / "bottles.json").read_text(encoding="utf-8")


def many(count):
    """A document of a thousand and more hop additions."""
    content = json.loads(GOOD)
    additions = content["beerjson"]["recipes"][0]["ingredients"]["hop_additions"]
    content["beerjson"]["recipes"][0]["ingredients"]["hop_additions"] = additions * count
    return json.dumps(content, separators=(",", ":"))


HOSTILE = {
    "deep lists": ("[" * 100_000, "nested deeper than 40"),
    "deep objects": ('{"a":' * 50_000, "nested deeper than 40"),
    "deep inside": (GOOD.replace("38", "[" * 60 + "]" * 60), "nested deeper than 40"),
    "large": ('{"a": "' + "x" * 2_000_000 + '"}', "larger than 1 MB"),
    "twice": (GOOD.replace('"version"', '"version": 1, "version"'), '"version" stands twice'),
    "not a number": (GOOD.replace("38", "NaN"), "NaN is no number"),
    "infinite": (GOOD.replace("38", "1e999"), "too large or too long"),
    "long number": (GOOD.replace("38", "9" * 5000), "too large or too long"),
    "cut off": (GOOD[:300], "is no JSON"),
    "empty": ("", "is no JSON"),
    "a list": ("[]", "is no JSON object"),
    "a text": ('"beerjson"', "is no JSON object"),
    "no beerjson": ("{}", "no object “beerjson”"),
    "null": ('{"beerjson": null}', "no object “beerjson”"),
    "no version": ('{"beerjson": {"recipes": [{}]}}', "version: is missing"),
    "empty recipe": ('{"beerjson": {"version": 1, "recipes": [{}]}}', "ingredients: is missing"),
    "recipe of null": ('{"beerjson": {"version": 1, "recipes": [null]}}', "is no object"),
    "many hops": (many(1500), "hop"),
    "negative": (GOOD.replace('"value": 20\n', '"value": -20\n', 1), "batch_size"),
    "name of signs": (GOOD.replace('"Bottles"', '"\\u0000\\u001b[31m"'), ""),
    "name of breaks": (GOOD.replace('"Bottles"', '"a\\nboil = \\"0 min\\"\\n[x]"'), ""),
    "letters turned": (GOOD.replace('"Bottles"', '"\\u202egnp.exe"'), ""),
    "a number of 300 digits": (GOOD.replace("38", "1e300"), "too large or too long"),
    "a type that is a table": (GOOD.replace('"type": "ale"', '"type": {"a": []}'), "is no text"),
    "names that are lists": (GOOD.replace('"Northern Brewer"', '["a", {}]'), "is no text"),
    "half a letter": (GOOD.replace('"Bottles"', '"\\ud800"'), ""),
}


@pytest.mark.parametrize("name", sorted(HOSTILE))
def test_hostile_document_is_refused_or_read_within_two_seconds(name, tmp_path):
    text, told = HOSTILE[name]
    path = tmp_path / "hostile.json"
    path.write_text(text, encoding="utf-8")
    began = time.process_time()

    if told:
        with pytest.raises(InputError) as fault:
            import_beerjson(path)
        assert told in str(fault.value)
        assert len(str(fault.value)) < 20_000
    else:
        try:
            read = import_beerjson(path).text
        except InputError as error:
            read = str(error)
        assert all(letter.isprintable() or letter == "\n" for letter in read)

    assert time.process_time() - began < 2


def test_bytes_that_are_no_text_are_refused(tmp_path):
    path = tmp_path / "bytes.json"
    path.write_bytes(b"\xff\xfe{\x00}")

    with pytest.raises(InputError, match="is not UTF-8 text"):
        import_beerjson(path)


def test_no_text_of_a_document_becomes_a_line_of_the_recipe(tmp_path):
    path = tmp_path / "lines.json"
    content = json.loads(GOOD)
    recipe = content["beerjson"]["recipes"][0]
    recipe["name"] = 'x"\nboil = "0 min"'
    recipe["author"] = "a\n[brewhouse]\naltitude = '9 m'"
    recipe["ingredients"]["culture_additions"][0]["name"] = "y\nattenuation = 1"
    path.write_text(json.dumps(content), encoding="utf-8")

    text = import_beerjson(path).text

    assert not [line for line in text.splitlines() if line.startswith(("[brewhouse]", "altitude"))]
    assert [line for line in text.splitlines() if line.startswith("boil")] == ['boil = "60 min"']
