"""Which input matters: variance-based sensitivity indices and their kin."""
