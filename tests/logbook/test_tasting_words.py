"""Words of tasters, one text at a time: what each becomes, and what is said of a wrong one."""

import pytest

from brewsim.logbook.tasting_answers import SittingReader, answers_of_batch, by_taster
from brewsim.logbook.tasting_entries import Sitting, Tasted
from brewsim.quantities.statement import Written
from brewsim.study.inference.panel import Panel
from brewsim.study.inference.sensory_answers import InFront, Word

PEOPLE = ("Ada", "Ben", "Cora")
THIOLS, HOPS, BITTER = (
    "thiol_strength_doubling",
    "hop_strength_doubling",
    "bitter_strength_doubling",
)


def words(text, line=4):
    return Written(text, line)


def refused():
    found = []
    return found, lambda text, why: found.append((text.line, why))


def said_by(text, tasters=()):
    return list(by_taster(words(text), tasters))


def test_a_word_a_taster_in_their_order_and_none_of_who_said_nothing():
    assert said_by(" Too  Much ,-,–,—,, just right", ()) == [("", "too much"), ("", "just right")]
    assert said_by("too much, -, too little", PEOPLE) == [
        ("Ada", "too much"),
        ("Cora", "too little"),
    ]


@pytest.mark.parametrize("named", [True, False])
def test_twenty_four_words_are_the_most(named):
    tasters = tuple(f"T{n}" for n in range(25)) if named else ()

    assert len(said_by(", ".join(["too much"] * 24), tasters[:24])) == 24
    with pytest.raises(ValueError, match=r"^has 25 words; 24 are the most$"):
        said_by(", ".join(["too much"] * 25), tasters)


@pytest.mark.parametrize(
    ("text", "tasters", "told"),
    [
        ("-, -", ("Ada",), "has 2 words for 1 taster (Ada); name all tasters, in the order of"),
        ("-", PEOPLE[:2], "has 1 word for 2 tasters (Ada, Ben); write - for who said nothing"),
        ("-, -", PEOPLE, "has 2 words for 3 tasters (Ada, Ben, Cora); write - for who said"),
    ],
)
def test_words_that_do_not_fit_the_tasters_are_counted(text, tasters, told):
    with pytest.raises(ValueError, match="has") as caught:
        said_by(text, tasters)

    assert str(caught.value).startswith(told)


def test_words_on_one_batch_become_answers_with_their_cups():
    panel = Panel()
    texts = {
        "bitterness": words("far too little, too little, far too much"),
        "malt": words("what nobody reads"),
        "hops": words("-, just right, -"),
        "in_front": words("bitterness, malt, hops"),
    }
    faults, refuse = refused()
    *heard, first, second = answers_of_batch("G1", Tasted(texts, PEOPLE), panel, refuse)

    assert faults == []
    assert all(isinstance(one, Word) and one.panel is panel for one in heard)
    assert [(w.attribute, w.taster, w.place, w.label, w.cups) for w in heard] == [
        ("bitterness", "Ada", 0, "bitterness of G1", (("G1", BITTER),)),
        ("bitterness", "Ben", 1, "bitterness of G1", (("G1", BITTER),)),
        ("bitterness", "Cora", 4, "bitterness of G1", (("G1", BITTER),)),
        ("hops", "Ben", 2, "hops of G1", (("G1", HOPS), ("G1", "hop_hiding_doubling"))),
    ]
    assert isinstance(first, InFront)
    cups = (("G1", THIOLS), ("G1", HOPS), ("G1", BITTER))
    told = ("thiols", "hops", "bitterness")
    assert [(f.taster, f.chosen, f.label, f.cups, f.attributes) for f in (first, second)] == [
        ("Ada", 2, "in front in G1", cups, told),
        ("Cora", 1, "in front in G1", cups, told),
    ]


def test_a_wrong_word_is_refused_and_the_words_before_it_and_other_texts_stay():
    texts = {"thiols": words("too much, lots", 7), "hops": words("too little, -", 8)}
    faults, refuse = refused()
    found = answers_of_batch("G1", Tasted(texts, PEOPLE[:2]), Panel(), refuse)

    told = "tasted thiols: “too much, lots” has “lots”, which is none of the five words."
    (fault,) = faults
    assert fault[0] == 7
    assert fault[1].startswith(f"{told} There is: far too little, too little, just right, ")
    assert [(w.attribute, w.place) for w in found] == [("thiols", 3), ("hops", 1)]


def answers_of(batches=("G1", "G2", "G3"), tasters=PEOPLE, of="hops", blends=(), **lists):
    texts = {key: tuple(map(words, said)) for key, said in lists.items()}
    tables = tuple({key: words(text) for key, text in blend.items()} for blend in blends)
    sitting = Sitting(texts, tables, of, "2026-03-01", tasters)
    faults, refuse = refused()
    found = list(SittingReader(sitting, batches, Panel()).answers(refuse))
    return found, faults


def test_pairs_and_odd_ones_are_read_whole():
    found, faults = answers_of(
        pairs=["G1>G2:0 of 1", " G2  >  G3 : 12 of 12 tasters "],
        odd_one_out=["G1 , G3 : 2 of 3"],
        two_and_two=["G3,G1: 3/3"],
    )

    assert faults == []
    assert [(a.label, a.count, a.asked, a.cups) for a in found] == [
        ("G1 against G2", 0, 1, (("G1", HOPS), ("G2", HOPS))),
        ("G2 against G3", 12, 12, (("G2", HOPS), ("G3", HOPS))),
        ("G1 and G3 apart", 2, 3, (("G1", HOPS), ("G3", HOPS))),
        ("G3 and G1 apart", 3, 3, (("G3", HOPS), ("G1", HOPS))),
    ]
    assert [a.method for a in found[2:]] == ["triangle", "tetrad"]


def test_an_order_holds_ties_and_two_to_five_beers():
    names = ("A", "B", "C", "D", "E", "F")
    found, faults = answers_of(names, order=["B > A", "C = A > B", "E > D = C = B > A"])

    assert faults == []
    assert [(r.taster, r.places, r.label) for r in found] == [
        ("Ada", ((1,), (0,)), "order of A, B"),
        ("Ben", ((0, 2), (1,)), "order of A, B, C"),
        ("Cora", ((4,), (1, 2, 3), (0,)), "order of A, B, C, D, E"),
    ]
    assert found[1].cups == (("A", HOPS), ("B", HOPS), ("C", HOPS))


def test_orders_of_nobody_named_may_be_any_number_and_those_of_nobody_are_left_out():
    found, faults = answers_of(tasters=(), order=["G1 > G2", "-", "G2 > G1", " "])

    assert [(r.taster, r.places) for r in found] == [("", ((0,), (1,))), ("", ((1,), (0,)))]
    assert faults == []


def test_orders_for_other_than_the_tasters_are_refused_once_for_all():
    found, faults = answers_of(tasters=PEOPLE[:1], order=["G1 > G2", "G2 > G1"])

    assert found == []
    told = 'order: has 2 orders for 1 taster (Ada); write one a taster, "-" for who gave none'
    assert faults == [(4, told)]


def test_a_wrong_text_of_a_sitting_leaves_the_others():
    found, faults = answers_of(pairs=["G1 > G2: 4 of 3", "G2 > G1: 3 of 3"], order=["G1", "-", "-"])

    assert [a.label for a in found] == ["G2 against G1"]
    assert faults == [
        (4, "pairs: “G1 > G2: 4 of 3” counts 4 of 3, which cannot be"),
        (4, "order: “G1” is no order; write G1 > G3 = G2, the strongest first"),
    ]


@pytest.mark.parametrize("count", ["0 of 0", "1 of 0"])
def test_nobody_asked_is_no_count(count):
    _, ((_, told),) = answers_of(pairs=[f"G1 > G2: {count}"])

    assert told.endswith(f"counts {count}, which cannot be")


def blend(tried="25 %, 1/2, 1", right="1/2, 25%, -", other="G2"):
    return {"beer": "G1", "with": other, "tried": tried, "just_right": right}


def test_a_blend_is_a_ladder_of_shares_with_its_two_cups():
    found, faults = answers_of(
        blends=[blend("25 %, 1/2, 1"), blend("0, 0.3", "0, -, 30 %", "Plain")]
    )

    assert faults == []
    assert [(a.taster, a.place, a.shares, a.label, a.attribute) for a in found] == [
        ("Ada", 1, (0.25, 0.5, 1.0), "blend of G1", "hops"),
        ("Ben", 0, (0.25, 0.5, 1.0), "blend of G1", "hops"),
        ("Ada", 0, (0.0, 0.3), "blend of G1", "hops"),
        ("Cora", 1, (0.0, 0.3), "blend of G1", "hops"),
    ]
    assert [a.cups for a in found[1:3]] == [(("G1", HOPS), ("G2", HOPS)), (("G1", HOPS),)]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"tried": "1/2"}, "tried “1/2”: write at least two shares of G1, rising, such as 1/4,"),
        ({"tried": "1/2, 1/2"}, "tried “1/2, 1/2”: write at least two shares of G1, rising"),
        ({"tried": "1/2, 101 %"}, "“101 %” is more than the whole; a share is 0 to 1"),
        ({"tried": "1/0, 1"}, "“1/0” is no share; write 1/4, 0.25 or 25 %"),
        ({"tried": "1/4, 1", "right": "-, 1/3, -"}, "just_right “1/3” was not tried; tried were"),
        ({"other": "G1"}, "names one beer twice"),
        ({"other": "water"}, "with “water”: names “water”, which is no batch of this log. There"),
    ],
)
def test_a_wrong_blend_is_refused_at_its_beer(changed, told):
    found, faults = answers_of(blends=[blend(**changed)])

    assert found == []
    ((line, why),) = faults
    assert line == 4
    assert why.startswith(f"blend of G1: {told}")


@pytest.mark.parametrize(
    ("text", "place"), [("1/8", 0), (" 2 / 8 ", 1), ("0.5", 2), ("50%", 2), ("0.75", 3), ("1", 4)]
)
def test_a_share_is_exact_however_it_is_written(text, place):
    (ladder,), faults = answers_of(
        tasters=(), blends=[blend("1/8, 0.25, 4/8, 75 %, 100 %", text, "plain")]
    )

    assert faults == []
    assert (ladder.place, ladder.shares) == (place, (0.125, 0.25, 0.5, 0.75, 1.0))


@pytest.mark.parametrize("text", ["1/00", "1/0", "٣/٤", "9" * 5000, "1/" + "9" * 5000])
def test_a_share_that_no_fraction_can_be_is_refused_in_words(text):
    _, ((_, told),) = answers_of(tasters=(), blends=[blend(f"{text}, 1", "1", "plain")])

    assert told.endswith("is no share; write 1/4, 0.25 or 25 %")
