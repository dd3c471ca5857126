"""The charts of the page."""
