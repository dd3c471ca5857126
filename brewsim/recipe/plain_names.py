"""Stated quantities by the names people use: og, final gravity, alcohol, bitterness."""

from brewsim.recipe.outcomes import quantity_of
from brewsim.recipe.stated import Stated
from brewsim.recipe.tables import read_given


def read_given_by_name(written: object) -> dict[str, Stated]:
    """Read a table of stated quantities, each by its own name or by its outcome's plain one."""
    if not isinstance(written, dict):
        return read_given(written)
    renamed: dict[str, object] = {}
    for name, value in written.items():
        quantity = quantity_of(name)
        twice = quantity in renamed or (quantity != name and quantity in written)
        renamed[name if twice else quantity] = value
    return read_given(renamed)
