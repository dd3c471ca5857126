"""Precursors, release and thiols."""
