"""Twelve classic beers against a style guideline: their table and the page of it."""
