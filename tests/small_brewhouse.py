"""A small recipe with a target and a knob, and a log of it: any command answers within a second."""

from tests.texts import TOP, beer, hop

RECIPE = (
    beer(hop(alpha="8 %", lot="N24"), top=TOP.replace("75 %", "75 ± 3 %"))
    + '[targets]\nalcohol = "4.5 to 5.5 %"\n[knobs]\n"malt 1 mass" = "3.6 to 4.4 kg"\n'
)
"""It ends among its knobs."""
MORE_KNOBS = '"hop 1 mass" = "10 to 30 g"\n"mash" = "63 to 69 °C"\n"boil" = "60 to 90 min"\n'
LOG = "".join(
    f'[[batch]]\nid = "{name}"\ndate = 2026-0{name}-01\n'
    f'[batch.readings]\nOG = "{gravity} by checked hydrometer"\n'
    for name, gravity in ((1, "1.042"), (2, "1.044"))
)
TASTED = 'tasters = ["Ada", "Ben"]\n' + LOG + '[batch.tasted]\nbitterness = "too much, too much"\n'


def write(folder, *, knobs="", log=LOG):
    """Write r.toml, with more knobs if given, and log.toml; return the folder."""
    (folder / "r.toml").write_text(RECIPE + knobs, encoding="utf-8")
    (folder / "log.toml").write_text(log, encoding="utf-8")
    return folder
