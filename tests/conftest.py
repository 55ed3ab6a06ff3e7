"""One profile of random tests for all: the same cases in every run, no time limit a case."""

from hypothesis import settings

settings.register_profile("house", derandomize=True, deadline=None, database=None)
settings.load_profile("house")
