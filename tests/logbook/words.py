"""Words of a log with their lines."""

from brewsim.quantities.statement import Written


def words(text, line=5):
    return Written(text, line)
