"""A problem, its factors and its draws."""
