"""What takes seconds to make and several tests look at: made once a run, for all workers."""

import functools
import hashlib
import os
import pickle
from contextlib import ExitStack, contextmanager
from importlib import import_module
from unittest import mock

from brewsim.files.lock import locked
from tests.door import DEMOS, brewsim

_WAIT_S = 600.0
_LEARNS = (
    "brewsim.study.inference.update.update",
    "brewsim.logbook.learning.update",
    "brewsim.study.steering.second_batch.update",
)
"""Every name that learning from batches is called by."""
_UNSEEN = ("progress",)
"""What is given to a study and changes nothing that it finds."""


class Shelf:
    """A folder that the workers of one run share."""

    def __init__(self, tmp_path_factory):
        base = tmp_path_factory.getbasetemp()
        self.folder = (base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base) / "shared"
        self.folder.mkdir(exist_ok=True)

    def once(self, name, make):
        """Return a folder that `make` has filled; who comes while it does waits."""
        made = self.folder / name
        with locked(self.folder / f"{name}.made", _WAIT_S):
            if not made.exists():
                making = self.folder / f"{name}.making"
                making.mkdir()
                make(making)
                making.rename(made)
        return made

    def report(self, name, log=""):
        """Return what `report` prints of a demo recipe, with its log if there is one, and its page.

        The page lies in a folder of its own, with whatever else the command left there.
        """

        def make(folder):
            (folder / "out").mkdir()
            words = ["--batches", DEMOS / log] if log else []
            page = folder / "out" / "page.html"
            recipe = DEMOS / f"quillhaven-{name}.toml"
            done = brewsim("report", recipe, *words, "--out", page, folder=folder, helped=not log)
            assert done.code == 0, done.err
            (folder / "told.txt").write_text(done.out, encoding="utf-8")

        made = self.once(log or name, make)
        return (made / "told.txt").read_text(encoding="utf-8"), made / "out" / "page.html"

    @contextmanager
    def learning(self):
        """Learn the same from the same only once, however many commands are asked."""
        for name in _LEARNS:  # all before the first is patched: else one keeps the patch for good
            import_module(name.rpartition(".")[0])
        from brewsim.study.inference.update import update

        with ExitStack() as stack:
            for name in _LEARNS:
                stack.enter_context(mock.patch(name, self._remembered(update)))
            yield

    def _remembered(self, study):
        @functools.wraps(study)
        def known(*given, **named):
            seen = {key: value for key, value in named.items() if key not in _UNSEEN}
            written_as = seen.pop("written_as", None)
            asked = pickle.dumps((given, seen, getattr(written_as, "__qualname__", "")))
            name = f"{study.__name__}-{hashlib.sha256(asked).hexdigest()}"

            def make(folder):
                (folder / "found").write_bytes(pickle.dumps(study(*given, **named)))

            found = (self.once(name, make) / "found").read_bytes()
            return pickle.loads(found)  # noqa: S301 - written by this run

        return known
