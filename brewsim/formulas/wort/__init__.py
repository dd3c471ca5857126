"""Mash, strike water, boil and colour."""
