"""What the numbers rest on: priors by grade, and the share of the spread that has no source."""
