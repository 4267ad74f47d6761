"""What is published, as plain JSON, once for all tests?"""

import json
from typing import Any

from service.fhir.definitions.everything import all_definitions
from service.fhir.encode import bytes_of
from tests.fhir.answers import SITE

Json = dict[str, Any]
RAW: dict[str, bytes] = {
    f"{type(one).__name__}/{one.id}": bytes_of(one) for one in all_definitions(SITE)
}
PLAIN: dict[str, Json] = {name: json.loads(raw) for name, raw in RAW.items()}


def of(kind: str) -> dict[str, Json]:
    """Every definition of a type, by its id."""
    return {
        name.partition("/")[2]: one for name, one in PLAIN.items() if name.startswith(f"{kind}/")
    }
