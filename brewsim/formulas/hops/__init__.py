"""Hop additions, bitterness and hop aroma."""
