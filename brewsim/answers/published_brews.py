"""Published brews: what went in and what was measured, as recipes that brewsim can pose.

The file of brews lies beside the tests in a checkout and inside the package when installed.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from brewsim.constants import plato_of
from brewsim.errors import BrewsimError
from brewsim.priors.library import Priors

FITTED, JUDGED = "fitted", "judged"
_MARK_SHARE = 0.02
"""Standard deviation of a home brewer's volume after the boil [common practice, no source]."""


@dataclass(frozen=True)
class Measurement:
    """One measured figure of a brew, the recipe that foresees it, and how it was read.

    `quantity` is the outcome measured, `given_gravity` the gravity at pitching where the recipe
    states it (else 0); `bias_sd` and `noise_sd` are the reading's, in the unit of the outcome.
    """

    series: str
    wort: str
    half: str
    quantity: str
    value: float
    recipe: str
    given_gravity: float
    bias_sd: float
    noise_sd: float


@dataclass(frozen=True)
class Series:
    """Brews of one source."""

    name: str
    source: str
    note: str
    measurements: tuple[Measurement, ...]


def brews_file() -> Path:
    """Return the file of published brews; raises BrewsimError where it is missing."""
    package = Path(__file__).resolve().parents[1]
    folders = (package / "published_brews", package.parent / "tests" / "published" / "brews")
    for folder in folders:
        if (folder / "brews.toml").is_file():
            return folder / "brews.toml"
    raise BrewsimError(f"the published brews are missing: looked in {folders[0]} and {folders[1]}")


def read_series(priors: Priors) -> list[Series]:
    """Return the published series, every brew in its half."""
    content = tomllib.loads(brews_file().read_text(encoding="utf-8"))
    return [_series(table, priors) for table in content["series"]]


def _series(table: Mapping[str, Any], priors: Priors) -> Series:
    worts = list(dict.fromkeys(brew["wort"] for brew in table["brew"]))
    found: list[Measurement] = []
    for brew in table["brew"]:
        half = (FITTED, JUDGED)[worts.index(brew["wort"]) % 2]
        made = _bitterness if table["kind"] == "bitterness" else _brew
        for quantity, recipe, given in made(brew):
            instrument = table.get("assay") or table.get("hydrometer", "")
            bias, noise = _reading(priors, instrument)
            value = brew[_MEASURED[quantity]]
            found.append(
                Measurement(
                    table["name"], brew["wort"], half, quantity, value, recipe, given, bias, noise
                )
            )
    return Series(table["name"], table["source"], table.get("note", ""), tuple(found))


_MEASURED = {
    "original_gravity_sg": "original",
    "final_gravity_sg": "final",
    "bitterness_ibu": "ibu",
}


def _reading(priors: Priors, name: str) -> tuple[float, float]:
    """Return the standard deviations of an instrument's bias and of one reading."""
    item = priors.find("instrument", name)
    if item is None:
        raise BrewsimError(f"published brews: no instrument is named {name!r}")
    parts = [priors.of(item, key) for key in ("bias", "noise")]
    bias, noise = (p.distribution.standard_deviation if p is not None else 0.0 for p in parts)
    return bias, noise


def _brew(brew: Mapping[str, Any]) -> Iterator[tuple[str, str, float]]:
    """Yield outcome, recipe and given gravity of the figures of a brew.

    The original gravity is foreseen from what went in and the volume after the boil; the final
    gravity from the gravity at pitching, as a brewer knows it on brew day.
    """
    common = [*_process(brew), *_grist(brew), *_cellar(brew), "[given]"]
    if "original" in brew:
        volume = brew["postboil"]
        mark = f'postboil_volume_l = "{volume} sd {_MARK_SHARE * volume:.4f} L"'
        yield "original_gravity_sg", "\n".join([*common, mark, ""]), 0.0
    if "final" in brew:
        extract = f'original_extract_plato = "exactly {plato_of(brew["pitched"]):.5f} °P"'
        yield "final_gravity_sg", "\n".join([*common, extract, ""]), brew["pitched"]


def _process(brew: Mapping[str, Any]) -> Iterator[str]:
    yield 'name = "Published brew"'
    yield f'volume = "{brew["fermenter"]} L"'
    yield f'boil = "{brew.get("boil", 60)} min"'
    yield f'mash = "{brew["mash"]} °C for {brew.get("minutes", 60)} min"'
    if "lauter" in brew:
        yield from ("[brewhouse]", f'lauter = "{brew["lauter"]}"')
    if "bag" in brew:
        yield f'bag = "{brew["bag"]}"'
    if "topup" in brew:
        yield from ("[water]", f'topup = "{brew["topup"]} L"')


def _grist(brew: Mapping[str, Any]) -> Iterator[str]:
    for kind in ("malt", "sugar"):
        for name, mass in brew.get(kind, []):
            yield from (f"[[{kind}]]", f'name = "{name}"', f'mass = "{mass} kg"')


def _cellar(brew: Mapping[str, Any]) -> Iterator[str]:
    if "dry_hop" in brew:
        yield from ("[[hop]]", 'variety = "Centennial"', f'mass = "{brew["dry_hop"]} g"')
        days, celsius = brew["dry_days"], brew["celsius"]
        yield f'when = "dry hop day 7 for {days} days at {celsius} °C"'
    yield from ("[yeast]", f'name = "{brew["yeast"]}"', f'temperature = "{brew["celsius"]} °C"')
    yield from ("[package]", 'container = "keg"')


_ONE_ADDITION = """name = "Published brew"
volume = "{volume} L"
boil = "{boil} min"
wort_ph = "exactly {ph}"
[[malt]]
name = "Pilsner malt"
mass = "{volume_fifth:.2f} kg"
[[hop]]
variety = "unknown"
form = "{form}"
mass = "exactly {hop} g"
alpha = "{alpha} % within a factor 1.0857"
when = "boil {boil} min"
[brewhouse]
heat_off = "0 min"
chill = "exactly 3 min"
trub_loss = "exactly 0 %"
[package]
container = "keg"
storage = "{weeks} weeks at 20 °C"
[given]
postboil_volume_l = "exactly {volume} L"
fermenter_volume_l = "exactly {volume} L"
preboil_gravity_sg = "exactly {before:.4f}"
original_gravity_sg = "exactly {pitched}"
"""


def _bitterness(brew: Mapping[str, Any]) -> Iterator[tuple[str, str, float]]:
    """Yield the recipe of a wort of known gravity with one hop addition.

    The malt only carries the recipe: both gravities are given, so nothing of it is read.
    """
    known = dict(brew) | {"before": brew["pitched"] - 0.001, "volume_fifth": brew["volume"] / 5}
    yield "bitterness_ibu", _ONE_ADDITION.format(**known), brew["pitched"]
