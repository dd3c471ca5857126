"""Specifications in sentences and tables."""
