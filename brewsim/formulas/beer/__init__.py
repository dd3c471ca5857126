"""Fermentation, packaging, strength and what the senses meet."""
