"""What tightening can do, in words."""

from types import SimpleNamespace

import pytest

from brewsim.wording.specification.worth import _why_not


@pytest.mark.parametrize(
    ("shares", "told"), [((0.5, 0.1), "60 % of"), ((0.8, 0.3), "As good as all of"), ((0.2,), "")]
)
def test_what_nobody_has_measured_is_never_more_than_the_whole_spread(shares, told):
    rows = [SimpleNamespace(knowledge=share, label="attenuation") for share in shares]

    said = _why_not(SimpleNamespace(budget={"strength": rows}), "strength")

    assert said.strip().startswith(told)
    assert bool(said) == bool(told)
