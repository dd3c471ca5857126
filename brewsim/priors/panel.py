"""The priors of the people who taste."""

from brewsim.priors.library import Priors
from brewsim.study.inference.panel import Panel, Trait

KIND = "tasting"


def panel_of(priors: Priors) -> Panel:
    """Return the traits of a panel as the priors have them.

    Example:
        >>> from brewsim.priors.library import load_priors
        >>> round(panel_of(load_priors()).trait("cup scatter").panel.median, 3)
        0.5
    """
    traits = {}
    for item in priors.ingredients.get(KIND, {}).values():
        parts = {part: priors.of(item, part) for part in ("panel", "taster")}
        traits[item.name] = Trait(
            **{part: None if found is None else found.distribution for part, found in parts.items()}
        )
    return Panel(traits)
