"""A year of batches of an invented brewery, by physics of its own, with causes planted in it.

None of brewsim's formulas is used: extract by one efficiency, gravity by a straight line in the
extract, attenuation by a straight line in the mash temperature, bitterness by one exponential in
the boil time. What is planted is told by `Planted`, in the words of the scorecard.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

RECIPE = """\
name       = "Synthetic pale"
volume     = "20 L"
boil       = "60 min"
mash       = "66 °C"
efficiency = "74 ± 4 %"

[[malt]]
name = "British pale ale malt"
mass = "4.3 kg"

[[hop]]
variety = "Northern Brewer"
lot     = "N1"
alpha   = "8.5 %"
mass    = "30 g"
when    = "boil 60 min"

[yeast]
name        = "clean ale yeast"
temperature = "19 °C"

[package]
container   = "keg"
carbonation = "2.4 vol"
storage     = "4 weeks at 4 °C"

[targets]
original_gravity = "1.045 to 1.053"
final_gravity    = "1.007 to 1.013"
bitterness       = "24 to 40 IBU"
"""
CAUSES = ("nothing", "typo", "stall", "lot", "spindle", "drift", "tank", "brewer")
READ = ("original gravity", "final gravity", "bitterness", "fermenter volume")


@dataclass(frozen=True)
class Planted:
    """What was done to a log: the cause, the batches it reached, what it was of."""

    cause: str
    batches: tuple[str, ...] = ()
    quantity: str = ""
    group: str = ""


@dataclass
class Brewery:
    """One brewery's true numbers, drawn once."""

    rng: np.random.Generator
    efficiency: float = field(init=False)
    attenuation: float = field(init=False)
    utilisation: float = field(init=False)
    spindle: float = field(init=False)

    def __post_init__(self) -> None:
        self.efficiency = self.rng.normal(0.74, 0.02)
        self.attenuation = self.rng.normal(0.785, 0.015)
        self.utilisation = 0.26 * np.exp(self.rng.normal(0, 0.1))
        self.spindle = self.rng.normal(0, 0.0005)


def year(
    cause: str, seed: int, batches: int = 24, more: int = 0
) -> tuple[str, Planted, list[dict[str, float]]]:
    """Return a log as TOML, what was planted, and the true readings of `more` later batches."""
    rng = np.random.default_rng([seed, CAUSES.index(cause)])
    house = Brewery(rng)
    whole = batches + more
    names = [f"B{n + 1:02d}" for n in range(whole)]
    days = [
        date(2025, 1, 6) + timedelta(days=14 * n + int(rng.integers(0, 5))) for n in range(whole)
    ]
    tanks = [("T1", "T2")[k] for k in rng.integers(0, 2, whole)]
    brewers = [("Ida", "Ole")[k] for k in rng.integers(0, 2, whole)]
    lots = [f"N{1 + n // 6}" for n in range(whole)]
    truth = [_brew(house, rng) for _ in range(whole)]
    said, planted = _plant(cause, rng, truth, names[:batches], (tanks, brewers, lots))
    alpha = {lot: np.exp(rng.normal(0, 0.04)) for lot in dict.fromkeys(lots)}
    if cause == "lot":
        alpha[planted.group] *= said["lot"]
    read = []
    for n, one in enumerate(truth):
        beer = _read(one, alpha[lots[n]], house, rng, said["spindle"][n])
        read.append(beer)
    if cause == "typo":
        place, quantity, wrong = said["typo"](read)
        read[place][quantity] = wrong
        planted = Planted("typo", (names[place],), quantity)
    rows = zip(names, days, tanks, brewers, lots, read, strict=True)
    text = "\n".join(_entry(*row) for row in list(rows)[:batches])
    return text, planted, read[batches:]


def _brew(house: Brewery, rng: np.random.Generator) -> dict[str, float]:
    return {
        "efficiency": house.efficiency + rng.normal(0, 0.015),
        "attenuation": house.attenuation + rng.normal(0, 0.01) - 0.016 * rng.normal(0, 0.4),
        "utilisation": house.utilisation * np.exp(rng.normal(0, 0.05)),
        "volume": 20.0 + rng.normal(0, 0.35),
    }


def _plant(cause, rng, truth, names, groups):
    tanks, brewers, lots = groups
    count, whole = len(names), len(truth)
    said = {"spindle": np.zeros(whole)}
    planted = Planted(cause)
    side = rng.choice([-1.0, 1.0])
    if cause == "stall":
        place = int(rng.integers(3, count))
        truth[place]["attenuation"] -= rng.uniform(0.10, 0.20)
        planted = Planted(cause, (names[place],), "final gravity")
    elif cause == "lot":
        lot = lots[int(rng.integers(0, count))]
        said["lot"] = rng.choice([rng.uniform(0.5, 0.68), rng.uniform(1.4, 1.8)])
        inside = tuple(n for n, one in zip(names, lots, strict=False) if one == lot)
        planted = Planted(cause, inside, "bitterness", lot)
    elif cause == "spindle":
        start = int(rng.integers(8, count - 6))
        said["spindle"][start:] = side * rng.uniform(0.0025, 0.0045)
        planted = Planted(cause, tuple(names[start:]), "gravity")
    elif cause == "drift":
        what = rng.choice(["efficiency", "attenuation"])
        most = side * (0.07 if what == "efficiency" else 0.05)
        for n in range(whole):
            truth[n][what] += most * n / (count - 1)
        quantity = "original gravity" if what == "efficiency" else "final gravity"
        planted = Planted(cause, (), quantity)
    elif cause in ("tank", "brewer"):
        members = tanks if cause == "tank" else brewers
        other = "T2" if cause == "tank" else "Ole"
        what, step = ("attenuation", 0.035) if cause == "tank" else ("efficiency", 0.045)
        for n in range(whole):
            truth[n][what] += side * step * (members[n] == other)
        quantity = "final gravity" if cause == "tank" else "original gravity"
        planted = Planted(cause, (), quantity, cause)
    elif cause == "typo":
        said["typo"] = lambda read: _typed(rng, read, count)
    return said, planted


def _typed(rng, read, count):
    """Return which reading is typed wrongly, and as what: two digits swapped, or one wrong."""
    while True:
        place, quantity = int(rng.integers(2, count)), str(rng.choice(READ))
        text = _typed_text(quantity, read[place][quantity])
        digits = [k for k, c in enumerate(text) if c.isdigit()]
        k = int(rng.integers(0, len(digits) - 1))
        a, b = digits[k], digits[k + 1]
        letters = list(text)
        if rng.random() < 0.6:
            letters[a], letters[b] = letters[b], letters[a]
        else:
            letters[b] = str(rng.integers(0, 10))
        wrong = float("".join(letters))
        true = read[place][quantity]
        far = {"original gravity": 0.008, "final gravity": 0.006}.get(quantity, 0.25 * true)
        most = 1.2 if "gravity" in quantity else 2.2 * true
        least = 1.001 if "gravity" in quantity else 0.4 * true
        beer = {**read[place], quantity: wrong}
        denser = beer["final gravity"] >= beer["original gravity"]
        if abs(wrong - true) > far and least < wrong < most and not denser:
            return place, quantity, wrong


def _read(one, alpha, house, rng, spindle):
    extract = 4.3 * 0.80 * 0.97 * one["efficiency"]
    original = 1 + 0.387 * extract / one["volume"]
    final = 1 + (original - 1) * (1 - one["attenuation"])
    bitter = 30e3 * 0.085 * alpha * one["utilisation"] * (1 - np.exp(-60 / 28)) / one["volume"]
    off = house.spindle + spindle
    return {
        "original gravity": original + off + rng.normal(0, 0.0005),
        "final gravity": final + off + rng.normal(0, 0.0005),
        "bitterness": bitter * np.exp(rng.normal(0, 0.03)),
        "fermenter volume": one["volume"] * np.exp(rng.normal(0, 0.008)),
    }


def _typed_text(quantity: str, value: float) -> str:
    return f"{value:.3f}" if "gravity" in quantity else f"{value:.1f}"


def _entry(name, day, tank, brewer, lot, read):
    text = {quantity: _typed_text(quantity, value) for quantity, value in read.items()}
    return f"""[[batch]]
id = "{name}"
date = {day}
tank = "{tank}"
brewer = "{brewer}"
changed = {{ "hop 1 lot" = "{lot}" }}
[batch.readings]
original_gravity = "{text["original gravity"]}"
final_gravity = "{text["final gravity"]}"
bitterness = "{text["bitterness"]} IBU by lab bitterness"
fermenter_volume = "{text["fermenter volume"]} L by volume mark"
"""
