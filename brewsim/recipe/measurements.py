"""A measured value as a brewer writes it: "1.047 by my hydrometer", "7 of 10", "22 ± 1 IBU"."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from brewsim.errors import did_you_mean
from brewsim.graph.build import Graph
from brewsim.recipe import refractometer
from brewsim.recipe.instruments import reads
from brewsim.recipe.kinds import model_unit_of
from brewsim.recipe.outcomes import OUTCOMES, TWINS, outcome_of, quantity_of
from brewsim.recipe.phrases import read_phrase
from brewsim.recipe.priors import Ingredient, Priors
from brewsim.recipe.showing import shown
from brewsim.recipe.stated import Z90, Stated, Written, line_of
from brewsim.study.measured import Reading

TASTERS = "detecting_taster_share"
_BEFORE, _AFTER = "refractometer before fermentation", "refractometer after fermentation"
_ALIASES = {"tasters": TASTERS, "tasters_noticed": TASTERS}
_COUNT = re.compile(
    r"\s*([0-9]{1,4})\s*(?:of|/|out of)\s*([0-9]{1,4})(?:\s+tasters?)?\s*", re.IGNORECASE
)
_BY = re.compile(r"(.+?)\s+by\s+(.+)", re.IGNORECASE)
_POSSIBLE = {
    "SG": (0.98, 1.2),
    "°P": (-5.0, 45.0),
    "fraction": (0.0, 1.0),
    "IBU": (0.0, 300.0),
    "vol": (0.0, 8.0),
    "EBC": (0.0, 300.0),
    "SRM": (0.0, 150.0),
    "pH": (2.5, 8.0),
    "°C": (-5.0, 110.0),
}


@dataclass(frozen=True)
class Instruments:
    """The instruments of a log: its own names for kinds of the priors, and the kinds themselves."""

    priors: Priors
    named: Mapping[str, str] = field(default_factory=dict)

    def kind(self, name: str) -> Ingredient:
        """Return what is known of an instrument; raises ValueError with near misses."""
        wanted = {k.lower(): v for k, v in self.named.items()}.get(name.lower(), name)
        found = self.priors.find("instrument", wanted)
        if found is None and wanted != name:
            near = did_you_mean(wanted, self.priors.names("instrument"))
            raise ValueError(f"{name} is of no kind brewsim knows: “{wanted}”.{near}")
        if found is None:
            known = [*self.named, *self.priors.names("instrument")]
            near = did_you_mean(name, known) or f" There is: {', '.join(known)}."
            raise ValueError(f"there is no instrument {name}.{near}")
        return found

    def reading(self, quantity: str) -> list[str]:
        """Return the instruments that read a quantity, the log's own first, then by file."""
        names = [*self.named, *self.in_order()]
        return [n for n in names if quantity in reads(self.kind(n))]

    def in_order(self) -> list[str]:
        """Return the kinds in the order of the priors' file: the most usual one first."""
        members = self.priors.ingredients.get("instrument", {})
        return list(dict.fromkeys(item.name for item in members.values()))


def named_quantity(name: str, graph: Graph) -> str:
    """Return the quantity a person means; raises ValueError with near misses."""
    typed = name.strip().lower().replace(" ", "_")
    for candidate in (_ALIASES.get(typed, ""), quantity_of(typed), typed):
        if candidate and candidate in graph:
            return candidate
    longer = [q for q in [*graph.nodes, *graph.inputs] if q.rpartition("_")[0] == typed]
    if len(longer) == 1:
        return longer[0]
    near = did_you_mean(typed, [*OUTCOMES, *_ALIASES, *graph.nodes, *graph.inputs])
    raise ValueError(f"there is no quantity {name}.{near}")


@dataclass
class Notebook:
    """One batch's measurements on their way to readings; `remarks` says what was assumed."""

    graph: Graph
    instruments: Instruments
    brix: float | None = None
    remarks: list[str] = field(default_factory=list)

    def reading(self, name: str, written: Written) -> Reading:
        """Return one reading; raises ValueError with the fault in words."""
        quantity = named_quantity(name, self.graph)
        text, instrument = str(written), ""
        if (match := _BY.fullmatch(text)) is not None:
            text, instrument = match[1], match[2].strip()
        if (count := _COUNT.fullmatch(text)) is not None:
            return _counted(quantity, int(count[1]), int(count[2]))
        if quantity == TASTERS:
            raise ValueError(f"“{text}”: write how many of them noticed, such as 7 of 10")
        told = instrument
        instrument = instrument or self._usual(quantity, text)
        if not instrument:
            return self._own(quantity, text, line_of(written))
        if instrument.lower() == "refractometer":
            instrument = _AFTER if quantity.startswith("final") else _BEFORE
        kind = self.instruments.kind(instrument)
        quantity = _as_read(quantity, kind, instrument)
        if quantity not in self.graph:
            raise ValueError(f"this recipe has no {quantity}")
        stated = self._stated(quantity, text, line_of(written), kind)
        if not told:
            self.remarks.append(f"{name}: taken as read by a {kind.name}")
        return self._by(quantity, stated, kind, instrument)

    def calibration(self, instrument: str, read: Written, known: Written) -> Reading:
        """Return what an instrument read where the truth was known."""
        kind = self.instruments.kind(instrument)
        quantity = next((q for q in reads(kind) if q in self.graph), "")
        unit = model_unit_of(quantity) or ""
        truth = read_phrase(known, unit)
        made = self._by(quantity, read_phrase(read, unit), kind, instrument)
        return Reading(
            quantity,
            made.value,
            made.noise,
            made.instrument,
            made.bias,
            made.scale,
            known=truth.value,
            label=f"calibration of {instrument}",
        )

    def _usual(self, quantity: str, text: str) -> str:
        if "±" in text or " sd " in text or "+-" in text or "+/-" in text:
            return ""
        names = self.instruments.reading(quantity)
        names = names or self.instruments.reading(TWINS.get(quantity, ""))
        if not names:
            raise ValueError(
                f"“{text}”: no instrument is known to read it; write how well it was measured, "
                "such as 5.2 ± 0.1 (nine in ten)"
            )
        return names[0]

    def _stated(self, quantity: str, text: str, line: int, kind: Ingredient) -> Stated:
        stated = read_phrase(Written(text, line), model_unit_of(quantity) or "")
        if stated.unit == "°Bx" and kind.name in (_BEFORE, _AFTER):
            return self._brix(quantity, stated, text)
        refuse_impossible(quantity, stated.value, stated.text)
        return stated

    def _brix(self, quantity: str, stated: Stated, text: str) -> Stated:
        shown_bx = read_phrase(text, "°P").value
        if not quantity.startswith("final"):
            if quantity.startswith("original"):
                self.brix = shown_bx
            return read_phrase(f"{refractometer.plato_of_wort(shown_bx):.9f} °P", "°P")
        if self.brix is None:
            raise ValueError(
                f"“{text}”: alcohol bends light; give what the refractometer showed before "
                'fermentation in the same batch (original_extract = "12.1 °Bx by '
                f'{_BEFORE}")'
            )
        gravity = refractometer.gravity_of_beer(self.brix, shown_bx)
        return read_phrase(f"{gravity:.7f}", stated.model_unit)

    def _own(self, quantity: str, text: str, line: int) -> Reading:
        stated = read_phrase(Written(text, line), model_unit_of(quantity) or "")
        refuse_impossible(quantity, stated.value, stated.text)
        noise = _noise(stated)
        if not noise:
            raise ValueError(f"“{text}”: write how well it was measured, value ± spread")
        label = outcome_of(quantity).label
        return Reading(quantity, stated.value, noise, label=label)

    def _by(self, quantity: str, stated: Stated, kind: Ingredient, name: str) -> Reading:
        priors = self.instruments.priors
        found = [priors.of(kind, part) for part in ("bias", "noise")]
        bias, noise = (p.distribution.standard_deviation if p is not None else 0.0 for p in found)
        own = name if kind.tags.get("each") != "quantity" else f"{name}, {quantity}"
        log = kind.tags.get("scale") == "log"
        if log and stated.value <= 0:
            raise ValueError(f"“{stated.text}” is not above 0")
        spread = _noise(stated) / (stated.value if log else 1.0)
        return Reading(
            quantity,
            stated.value,
            spread or noise,
            own,
            bias,
            "log" if log else "linear",
            label=outcome_of(quantity).label,
        )


def _noise(stated: Stated) -> float:
    phrase = stated.phrase
    if phrase.kind == "sd":
        return phrase.sd or 0.0
    if phrase.kind == "range90" and phrase.low is not None and phrase.high is not None:
        return (phrase.high - phrase.low) / 2 / Z90
    if phrase.kind in ("plain", "exactly"):
        return 0.0
    raise ValueError(f"“{stated.text}” is no measured value; write one number, or value ± spread")


def _as_read(quantity: str, kind: Ingredient, instrument: str) -> str:
    """Return the quantity the instrument reads: gravity and extract stand for each other."""
    for candidate in (quantity, TWINS.get(quantity, "")):
        if candidate in reads(kind):
            return candidate
    told = ", ".join(reads(kind))
    raise ValueError(f"{instrument} does not read {quantity}; it reads {told}")


def _counted(quantity: str, noticed: int, asked: int) -> Reading:
    if not quantity.endswith("_share"):
        raise ValueError(f"{noticed} of {asked} counts people; {quantity} is not a share of them")
    if not 0 <= noticed <= asked or asked == 0:
        raise ValueError(f"{noticed} of {asked} cannot be")
    return Reading(quantity, noticed, 0.0, trials=asked, label="tasters who noticed")


def refuse_impossible(quantity: str, value: float, text: str) -> None:
    """Raise ValueError where a measured value (model units) cannot be; `text` is how it stood."""
    unit = model_unit_of(quantity) or ""
    signed = "error" in quantity or unit in ("doublings", "Δ°C")
    low, high = _POSSIBLE.get(unit, (-math.inf if signed else 0.0, math.inf))
    if not low <= value <= high:
        ends = [shown(e, unit, twin=False) for e in (low, high) if math.isfinite(e)]
        span = f"between {ends[0]} and {ends[1]}" if len(ends) == 2 else f"above {ends[0]}"
        raise ValueError(f"“{text}” is impossible: {outcome_of(quantity).label} lies {span}")


def contradictions(readings: Sequence[Reading]) -> list[str]:
    """Return what one batch's readings cannot both be."""
    value = {r.quantity: r.value for r in readings if r.known is None and not r.trials}
    found = []
    for first, last in (
        ("original_gravity_sg", "final_gravity_sg"),
        ("original_extract_plato", "final_extract_plato"),
    ):
        if first in value and last in value and value[last] > value[first]:
            found.append(f"beer ({value[last]:.4g}) cannot be denser than its wort")
    return found
