"""Amounts read in a unit of the model."""

from brewsim.quantities.amounts import read_amounts, total


def value(text, unit):
    return total(read_amounts(text, unit), unit)
