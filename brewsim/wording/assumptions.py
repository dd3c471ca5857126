"""What `check` says of the assumptions that matter most."""

from collections.abc import Mapping, Sequence

from brewsim.answers.leading_assumptions import LeadingAssumption
from brewsim.quantities.chances import percent


def leading_sentence(
    found: Sequence[LeadingAssumption], labels: Mapping[str, str], *, aimed: bool
) -> str:
    """Return one sentence on the assumptions that move the targets most, empty where none does.

    `labels` is outcome -> how it is called; `aimed` says whether the recipe has targets.

    Example:
        >>> one = LeadingAssumption("extract of the malt", "og", 0.4)
        >>> leading_sentence([one], {"og": "original gravity"}, aimed=True)[:40]
        'Of what is assumed, this moves your targ'
    """
    if not found:
        return ""
    told = [
        f"{one.label} (about {percent(one.share)} of the variance of"
        f" {labels.get(one.outcome, one.outcome)})"
        for one in found
    ]
    verb = "this moves" if len(told) == 1 else "these move"
    what = "your targets" if aimed else "the beer"
    return (
        f"Of what is assumed, {verb} {what} most, each moved by itself: {'; '.join(told)}. State"
        " them in the recipe if you know them; `brewsim rank` measures all inputs together."
    )
