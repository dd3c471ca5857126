"""What the thiols of a beer can come from, and the quantities that each of them alone feeds."""

from brewsim.study.model.problem import Problem

_OF_HOPS = (
    "glutathionylated_3sh_nmol_l",
    "cysteinylated_3sh_nmol_l",
    "free_3sh_nmol_l",
    "free_4msp_nmol_l",
    "free_3s4mp_nmol_l",
)
_MALT = "malt_conjugates_nmol_l"
_PRECURSOR = "precursor_conjugate_nmol_l"
_LISTS = {
    "hop": tuple(f"hop_{name}" for name in _OF_HOPS),
    "dry_hop": tuple(f"dry_hop_{name}" for name in _OF_HOPS),
    "precursor": (_PRECURSOR,),
}


def thiol_sources(problem: Problem) -> dict[str, tuple[tuple[str, int | None], ...]]:
    """Return label -> (quantity, row) of everything in the recipe that brings thiols."""
    found: dict[str, tuple[tuple[str, int | None], ...]] = {}
    if _MALT in problem.graph.nodes:
        found["malt"] = ((_MALT, None),)
    for axis, quantities in _LISTS.items():
        known = [name for name in quantities if name in problem.graph.nodes]
        for row, label in enumerate(problem.row_labels.get(axis, ())):
            if known:
                twin = f"{label} ({row + 1})" if label in found else label
                found[twin] = tuple((name, row) for name in known)
    return found
