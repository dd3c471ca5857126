"""Answers in sentences and tables."""
