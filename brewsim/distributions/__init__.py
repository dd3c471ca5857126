"""Families of distributions, each with a quantile function and a fast normal-score map."""
