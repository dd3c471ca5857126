"""Inputs at the edge of what the schema allows, through every door of the command line."""
