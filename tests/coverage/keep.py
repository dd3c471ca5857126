"""The table of published brews as it is kept, and the page made of it."""

from pathlib import Path

from brewsim.answers.coverage import (
    KeptCoverage,
    coverage_table,
    judge,
    kept_coverage,
    kept_file,
    kept_text,
    one_kettle,
    own_kettle,
)
from brewsim.priors.library import load_priors
from brewsim.wording.coverage import coverage_document

PAGE = Path(__file__).resolve().parents[2] / "docs" / "coverage.md"


def texts():
    """Return the judged figures, and the kept file and the page as they should read now."""
    series, judged = judge(load_priors())
    first, now = kept_coverage().first, coverage_table(judged)
    priors = load_priors()
    kept = KeptCoverage(first, tuple(now), own_kettle(priors), one_kettle(priors))
    return judged, kept_text(kept), coverage_document(series, judged, kept)


def write():
    """Write the kept file and the page anew."""
    _, kept, page = texts()
    kept_file().write_text(kept, encoding="utf-8")
    PAGE.write_text(page, encoding="utf-8")
