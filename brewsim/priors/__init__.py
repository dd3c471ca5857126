"""The library of prior distributions, instruments and label rules."""
