"""What made an answer, so that it can be made again."""

from brewsim.answers.everything import Everything
from brewsim.priors import library
from brewsim.wording.content import Content

ANSWER_VERSION = 1
"""Form of the answers: goes up when a promised key of `--json` changes its meaning or goes."""


def made_by(content: Content, found: Everything, priors: library.Priors) -> str:
    """Say what made the page, so that it can be made again."""
    learned = found.problem.learned if found.log is None else found.log.learned
    settled = getattr(learned, "trusted", None)
    told = "" if settled is None else f" What was learned has{'' if settled else ' not'} settled."
    return (
        f"Made by brewsim {content.version} (answers of form {ANSWER_VERSION}) with"
        f" {content.draws:,} draws, seed {content.seed} and priors {priors.fingerprint}.{told}"
    )
