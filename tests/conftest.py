"""Properties are tried on the same examples in every run, whatever the machine's speed."""

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")
