"""Settings that land in the targets."""
