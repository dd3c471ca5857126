"""Batches, readings and the house file."""
