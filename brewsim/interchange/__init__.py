"""Recipes in the trade's open interchange standard, BeerJSON 1.0: in and out."""
