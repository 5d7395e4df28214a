"""How the desk's properties are tried."""

from hypothesis import settings

# The same examples at every run: a test that fails fails again.
settings.register_profile("desk", derandomize=True, database=None, deadline=None)
settings.load_profile("desk")
