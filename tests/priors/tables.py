"""A table of a prior that passes, to be changed by tests."""

GOOD = {
    "family": "lognormal",
    "median": 1.04,
    "log_sd": 0.15,
    "unit": "L/kg",
    "kinds": {"knowledge": 0.7, "batch": 0.3},
    "grade": "assumption",
    "source": "assumption",
}
