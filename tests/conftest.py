"""Under which rules does every test run?"""

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import settings

HERE = Path(__file__).parent

# A test that fails, fails for everybody: the same examples each time, and no clock. To look for
# new examples, now and then: pytest --hypothesis-profile=search tests/invariants
settings.register_profile("house", derandomize=True, deadline=None, print_blob=True, database=None)
settings.register_profile("search", deadline=None, max_examples=2_000)
settings.load_profile("house")

# Proofs and fuzzing run the same lines millions of times; counting them triples the time and proves
# nothing. What covers a module are the tests of its own and the neighbouring rooms.
UNCOUNTED = ("invariants", "contract", "house")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests of one id would be handed to the workers as one."""
    twice = [one for one, times in Counter(item.nodeid for item in items).items() if times > 1]
    if twice:
        raise pytest.UsageError(f"Several tests have one id: {', '.join(twice)}")
    for item in items:
        if item.path.relative_to(HERE).parts[0] in UNCOUNTED:
            item.add_marker(pytest.mark.no_cover)
