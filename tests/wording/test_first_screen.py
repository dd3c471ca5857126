"""The words of a first screen."""

from types import SimpleNamespace

import pytest

from brewsim.wording import first_screen


@pytest.mark.parametrize(
    ("aimed", "words"),
    [(0, "No target is set."), (1, "discs land"), (2, "Dark: both."), (3, "Dark: all three.")],
)
def test_the_legend_counts_the_targets(aimed, words, monkeypatch):
    def strip(_problem, name, *_):
        return SimpleNamespace(name=name, count=10 if name in "abc"[:aimed] else None)

    monkeypatch.setattr(first_screen, "_strip", strip)
    every = dict.fromkeys("abc")

    shown = first_screen.pictures_of(
        None, SimpleNamespace(names=tuple("abc"), together=None), every, every
    )

    assert words in shown.key
