"""Datasets in, one self-contained page out; draws, never computes."""
