"""One recipe's questions, answered as data."""
