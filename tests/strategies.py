"""Valid recipes of every kind, as hypothesis strategies: blocks of lines, and their text."""

from dataclasses import dataclass, replace

from hypothesis import strategies as st

MALTS = ("Pilsner malt", "Vienna malt", "British pale ale malt", "Crystal malt 60", "Wheat malt")
HOPS = ("Hersbrucker Spät", "Northern Brewer", "East Kent Golding", "Fuggle", "Centennial")
YEASTS = ("clean ale yeast", "English ale yeast", "beta-lyase-active lager yeast")
ROWS = ("malt", "sugar", "hop", "precursor")


@dataclass(frozen=True)
class Block:
    """A table of a recipe: its header's name ("" for the top) and its lines."""

    name: str
    lines: dict

    @property
    def text(self):
        head = f"[[{self.name}]]\n" if self.name in ROWS else f"[{self.name}]\n"
        told = "".join(f"{_key(key)} = {_value(value)}\n" for key, value in self.lines.items())
        return (head if self.name else "") + told


@dataclass(frozen=True)
class Written:
    """A recipe as blocks; `litres` is its volume as a number."""

    blocks: tuple
    litres: float

    @property
    def text(self):
        return "\n".join(block.text for block in self.blocks)

    def rows(self, kind):
        return [block for block in self.blocks if block.name == kind]

    def without(self, *names):
        return replace(self, blocks=tuple(b for b in self.blocks if b.name not in names))

    def swapped(self, old, *new):
        """The recipe with one block taken out and others put in at its place."""
        place = next(i for i, block in enumerate(self.blocks) if block is old)
        return replace(self, blocks=(*self.blocks[:place], *new, *self.blocks[place + 1 :]))


def _key(key):
    return key if key.replace("_", "").isalnum() else f'"{key}"'


def _value(value):
    if isinstance(value, list):
        return "[" + ", ".join(f'"{item}"' for item in value) + "]"
    return f'"{value}"'


def number(value):
    """A number as a person types it: four significant figures, no power of ten."""
    return f"{float(f'{value:.4g}'):.10f}".rstrip("0").rstrip(".")


@st.composite
def phrases(draw, low, high, unit, *, plain=False):
    """A value between low and high with any spread that stays there."""
    middle = draw(st.floats(low + 0.25 * (high - low), low + 0.75 * (high - low)))
    wide = 0.2 * min(middle - low, high - middle)
    n = number
    if plain:
        return f"{n(middle)} {unit}"
    return draw(
        st.sampled_from(
            [
                f"{n(middle)} {unit}",
                f"exactly {n(middle)} {unit}",
                f"{n(middle)} ± {n(wide)} {unit}",
                f"{n(middle - wide)} to {n(middle + wide)} {unit}",
                f"between {n(middle - wide)} and {n(middle + wide)} {unit}, likely {n(middle)}",
                f"between {n(middle - wide)} and {n(middle + wide)} {unit}",
                f"{n(middle)} sd {n(wide / 2)} {unit}",
                f"{n(middle)} {unit} within a factor 1.2",
                [f"{n(middle + step * wide)} {unit}" for step in (-0.5, 0, 0.3, 0.1)],
            ]
        )
    )


def _maybe(lines, draw, key, strategy):
    if draw(st.booleans()):
        lines[key] = draw(strategy)


@st.composite
def _malts(draw, litres):
    names = draw(st.lists(st.sampled_from(MALTS), min_size=1, max_size=3, unique=True))
    rate = draw(st.floats(0.12, 0.3))
    rows = []
    for name in names:
        lines = {"name": name, "mass": f"{number(rate * litres / len(names))} kg"}
        _maybe(lines, draw, "lot", st.just("M1"))
        _maybe(lines, draw, "moisture", phrases(2, 8, "%"))
        _maybe(lines, draw, "color", phrases(3, 60, "EBC"))
        rows.append(Block("malt", lines))
    return rows


@st.composite
def _sugars(draw, litres):
    lines = {"name": "Sucrose", "mass": f"{number(0.01 * litres)} kg"}
    _maybe(lines, draw, "when", st.sampled_from(["boil", "late"]))
    return draw(st.sampled_from([[], [Block("sugar", lines)]]))


TIMES = (
    "mash",
    "first wort",
    "boil 60 min",
    "boil 5 min",
    "flameout",
    "whirlpool 20 min at 80 °C",
    "whirlpool",
    "dry hop day 3 for 4 days at 16 °C",
    "dry hop day 9 for 3 days at 5 °C",
    "dry hop",
)


@st.composite
def _hops(draw, litres):
    rows = []
    for place in range(draw(st.integers(0, 4))):
        lines = {"variety": draw(st.sampled_from(HOPS)), "when": draw(st.sampled_from(TIMES))}
        rate = draw(st.floats(0.2, 2.0))
        amounts = [("mass", f"{number(rate * litres)} g"), ("rate", f"{number(rate)} g/L")]
        key, amount = draw(st.sampled_from(amounts))
        lines[key] = amount
        lines["lot"] = f"L{place}"
        _maybe(lines, draw, "alpha", phrases(3, 14, "%"))
        _maybe(lines, draw, "form", st.sampled_from(["pellet", "cone"]))
        _maybe(lines, draw, "age", phrases(0, 24, "months", plain=True))
        _maybe(lines, draw, "wrap", st.sampled_from(["loose", "sealed", "vacuum"]))
        _maybe(lines, draw, "storage", st.just("4 °C"))
        rows.append(Block("hop", lines))
    return rows


@st.composite
def precursor_blocks(draw):
    lines = {
        "name": "grape-derived powder",
        "dose": draw(phrases(0.2, 4, "g/L", plain=True)),
        "when": draw(st.sampled_from(["mash", "boil", "whirlpool", "fermentation day 2"])),
    }
    return Block("precursor", lines)


@st.composite
def _yeasts(draw):
    lines = {"name": draw(st.sampled_from(YEASTS))}
    _maybe(lines, draw, "attenuation", phrases(60, 95, "%"))
    _maybe(lines, draw, "thiol_release", st.sampled_from(["ordinary", "active", "engineered"]))
    _maybe(lines, draw, "diastatic", st.sampled_from(["yes", "no", "unknown"]))
    _maybe(lines, draw, "temperature", phrases(8, 26, "°C"))
    return Block("yeast", lines)


@st.composite
def _packages(draw):
    lines = {"container": draw(st.sampled_from(["keg", "bottle"]))}
    _maybe(lines, draw, "storage", st.sampled_from(["4 weeks", "8 weeks at 10 °C"]))
    _maybe(lines, draw, "warmest", phrases(10, 24, "°C", plain=True))
    if lines["container"] == "bottle":
        lines["rating"] = "3.5 vol"
        if draw(st.booleans()):
            lines["priming"] = draw(st.sampled_from(["5 g/L glucose", "4 g/L sucrose"]))
            return Block("package", lines)
    lines["carbonation"] = draw(phrases(2, 3, "vol", plain=True))
    return Block("package", lines)


TARGETS = {
    "alcohol": "4.5 to 5.5 %",
    "bitterness": "at most 40 IBU",
    "color": "6 to 30 EBC",
    "original_gravity": "1.040 to 1.060",
    "thiol_lead": "-1 to 1",
}


@st.composite
def recipes(draw, *, precursors=True):
    """Any recipe brewsim should accept: any legal mix of lists, phrases, units and variants."""
    litres = draw(st.sampled_from([5.0, 20.0, 37.854, 90.0, 600.0]))
    volume = {37.854: "10 US gal", 600.0: "6 hL"}.get(litres, f"{litres:g} L")
    top = {"name": draw(st.sampled_from(["Beer", "Bière №1 <b>&", "啤酒", "=1+2"]))}
    top |= {"volume": volume, "boil": draw(st.sampled_from(["60 min", "75 min", "1.5 h"]))}
    house: dict = {}
    lauter = draw(st.sampled_from(["stated", "no sparge", "batch sparge", "continuous sparge"]))
    if lauter != "stated":
        house["lauter"] = lauter
    else:
        _maybe(top, draw, "efficiency", phrases(60, 95, "%"))
    _maybe(top, draw, "mash", phrases(60, 72, "°C"))
    _maybe(top, draw, "wort_ph", phrases(5, 5.6, "", plain=True))
    _maybe(house, draw, "trub_loss", phrases(1, 9, "%"))
    _maybe(house, draw, "altitude", phrases(0, 2000, "m", plain=True))
    model: dict = {}
    _maybe(model, draw, "bitterness", st.sampled_from(["kinetic", "empirical"]))
    _maybe(model, draw, "alcohol", st.sampled_from(["line", "balling"]))
    _maybe(model, draw, "stall", st.sampled_from(["off", "possible"]))
    targets = draw(st.lists(st.sampled_from(sorted(TARGETS)), unique=True, max_size=3))
    rows = [*draw(_malts(litres)), *draw(_sugars(litres)), *draw(_hops(litres))]
    rows += draw(st.lists(precursor_blocks(), max_size=2)) if precursors else []
    blocks = [Block("", top), *rows, draw(_yeasts()), draw(_packages())]
    blocks += [Block("brewhouse", house), Block("model", model)]
    blocks.append(Block("targets", {name: TARGETS[name] for name in targets}))
    return Written(tuple(blocks), litres)
