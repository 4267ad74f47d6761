"""Under which rules does every test run?"""

from hypothesis import settings

# A test that fails, fails for everybody: the same examples each time, and no clock. To look for
# new examples, now and then: pytest --hypothesis-profile=search tests/invariants
settings.register_profile("house", derandomize=True, deadline=None, print_blob=True, database=None)
settings.register_profile("search", deadline=None, max_examples=2_000)
settings.load_profile("house")
