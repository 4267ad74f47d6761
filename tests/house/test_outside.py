"""Is a module found that asks the environment, the clock, chance or the FHIR library?"""

from tests.house.conftest import Grow
from tests.house.outside import faults
from tests.house.tree import ROOT


def test_only_the_settings_read_the_environment_and_the_core_is_pure() -> None:
    assert faults(ROOT) == []


def test_every_way_outside_is_found(grow: Grow) -> None:
    root = grow(
        {
            "service/settings.py": "import os\nx = os.environ['A']\n",
            "service/web/a.py": "import os\nx = os.environ['A']\n",
            "service/web/b.py": "from os import getenv\n",
            "service/web/clock.py": "import datetime\nx = datetime.datetime.now()\n",
            "service/domain/c.py": "import datetime\nx = datetime.datetime.now(None)\n",
            "service/rules/d.py": "from datetime import date\nx = date.today()\n",
            "service/rules/e.py": "from time import monotonic\n",
            "service/application/f.py": "import uuid\nx = uuid.uuid4()\n",
            "service/domain/fine.py": "def f(now: datetime): now.time\n",
            "service/fhir/g.py": "import fhir.resources\n",
            "service/web/h.py": "from fhir.resources import patient\n",
        }
    )
    assert sorted(faults(root)) == [
        "service/application/f.py:2: leaves it to chance",
        "service/domain/c.py:2: asks the clock",
        "service/rules/d.py:2: asks the clock",
        "service/rules/e.py:1: asks the clock",
        "service/web/a.py:2: reads the environment",
        "service/web/b.py:1: reads the environment",
        "service/web/h.py: imports the FHIR library as well",
    ]
