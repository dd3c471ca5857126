"""Published test functions as problems, each with its source and, where there is one, its truth."""

import numpy as np

from brewsim import Problem, uniform

Bounds = dict[str, tuple[float, float]]


def ishi(x1, x2, x3):
    """Ishigami & Homma, First International Symposium on Uncertainty Modeling (1990) 398."""
    return np.sin(x1) + 7 * np.sin(x2) ** 2 + 0.1 * x3**4 * np.sin(x1)


def sobol_g(x1, x2, x3, x4, x5, x6):
    """Saltelli & Sobol', Reliability Engineering & System Safety 50 (1995) 225."""
    weights = (0.0, 0.5, 3.0, 9.0, 99.0, 99.0)
    value = 1.0
    for x, a in zip((x1, x2, x3, x4, x5, x6), weights, strict=True):
        value = value * (np.abs(4 * x - 2) + a) / (1 + a)
    return value


def flow(rw, r, tu, hu, tl, hl, length, kw):
    """Water through a borehole: Harper & Gupta, ONWI-516 (1983)."""
    log = np.log(r / rw)
    return 2 * np.pi * tu * (hu - hl) / (log * (1 + 2 * length * tu / (log * rw**2 * kw) + tu / tl))


def voltage(rb1, rb2, rf, rc1, rc2, gain):
    """Push-pull circuit: Ben-Ari & Steinberg, Quality Engineering 19 (2007) 327."""
    base, b = 12 * rb2 / (rb1 + rb2), gain * (rc2 + 9)
    return (base + 0.74) * b / (b + rf) + 11.35 * rf / (b + rf) + 0.74 * rf * b / ((b + rf) * rc1)


def cycle(m, s, v0, k, p0, ta, t0):
    """Piston: Kenett & Zacks, Modern Industrial Statistics (1998), as given by Ben-Ari (2007)."""
    a = p0 * s + 19.62 * m - k * v0 / s
    v = s / (2 * k) * (np.sqrt(a**2 + 4 * k * p0 * v0 / t0 * ta) - a)
    return 2 * np.pi * np.sqrt(m / (k + s**2 * p0 * v0 / t0 * ta / v**2))


ISHIGAMI: Bounds = dict.fromkeys(("x1", "x2", "x3"), (-np.pi, np.pi))
G_FUNCTION: Bounds = dict.fromkeys(("x1", "x2", "x3", "x4", "x5", "x6"), (0.0, 1.0))
BOREHOLE: Bounds = {
    "rw": (0.05, 0.15),
    "r": (100.0, 50000.0),
    "tu": (63070.0, 115600.0),
    "hu": (990.0, 1110.0),
    "tl": (63.1, 116.0),
    "hl": (700.0, 820.0),
    "length": (1120.0, 1680.0),
    "kw": (9855.0, 12045.0),
}
CIRCUIT: Bounds = {
    "rb1": (50.0, 150.0),
    "rb2": (25.0, 70.0),
    "rf": (0.5, 3.0),
    "rc1": (1.2, 2.5),
    "rc2": (0.25, 1.2),
    "gain": (50.0, 300.0),
}
PISTON: Bounds = {
    "m": (30.0, 60.0),
    "s": (0.005, 0.020),
    "v0": (0.002, 0.010),
    "k": (1000.0, 5000.0),
    "p0": (90000.0, 110000.0),
    "ta": (290.0, 296.0),
    "t0": (340.0, 360.0),
}
PUBLISHED = {
    "Ishigami": (ishi, ISHIGAMI),
    "Sobol' g": (sobol_g, G_FUNCTION),
    "borehole": (flow, BOREHOLE),
    "OTL circuit": (voltage, CIRCUIT),
    "piston": (cycle, PISTON),
}


def posed(name: str) -> Problem:
    """Return a published function as a problem."""
    function, bounds = PUBLISHED[name]
    return Problem.of([function], {key: uniform(*ends) for key, ends in bounds.items()}, name=name)
