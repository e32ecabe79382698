"""Settings of all tests: hypothesis never judges by the clock."""

from hypothesis import settings

settings.register_profile("deckcalc", deadline=None)
settings.load_profile("deckcalc")
