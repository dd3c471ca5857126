"""Small models to learn of."""

from brewsim.study.model.factor import Kinds

PER_BATCH = Kinds(0, 0, 1)


def total(first, second):
    return first + second


def lambda_free(level):
    return level * 1.0
