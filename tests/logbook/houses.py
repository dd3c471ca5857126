"""Logs of a small beer, and houses they are added to."""

from brewsim.logbook.house_store import add_batches
from brewsim.logbook.log import read_log
from brewsim.priors.library import load_priors
from tests.texts import beer, hop

RECIPE = beer(hop())


def log_of(*ids, og="1.045", more="", head="", recipe=RECIPE, day="2026-03-01", where="log.toml"):
    text = head + "".join(
        f'[[batch]]\nid = "{name}"\ndate = {day}\n{more}\n[batch.readings]\nOG = "{og}"\n'
        for name in ids
    )
    return read_log(text, recipe, where)


def added(path, log):
    return add_batches(path, log, load_priors())


def ids(path):
    return [entry.id for entry in read_log(path.read_text(), None, str(path)).entries]
