"""The audit of kinds: its page, and the scatter of the demos before it."""
