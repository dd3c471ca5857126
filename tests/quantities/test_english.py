"""Words around numbers."""

from brewsim.quantities.english import all_of, capital, counted, listed, lower


def test_ph_keeps_its_letters_at_the_head_of_a_sentence():
    assert capital("pH of the boiling wort") == "pH of the boiling wort"
    assert capital("moisture of a malt") == "Moisture of a malt"


def test_3sh_ibu_and_ph_keep_their_capitals_inside_a_sentence():
    assert [lower(label) for label in ("3SH (x)", "IBU by X", "pH of wort", "A lot")] == [
        "3SH (x)",
        "IBU by X",
        "pH of wort",
        "a lot",
    ]


def test_lists_and_counts_are_english():
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert [listed([]), listed(["a"])] == ["", "a"]
    assert [counted(1, "batch"), counted(3, "batch"), counted(2, "reading")] == [
        "1 batch",
        "3 batches",
        "2 readings",
    ]
    assert [all_of(2), all_of(3)] == ["Both", "All 3"]
