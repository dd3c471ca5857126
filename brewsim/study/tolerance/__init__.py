"""Limits, conformity and what to tighten or measure."""
