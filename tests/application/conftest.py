"""Which service do the tests of this room call?"""

import pytest

from tests.application.made import House, open_house


@pytest.fixture
def house() -> House:
    return open_house()
