"""How do FHIR resources become bytes?"""

import msgspec

from service.fhir.structs import Resource

FHIR_JSON = "application/fhir+json; fhirVersion=4.0"

_ENCODER = msgspec.json.Encoder(decimal_format="number")


def bytes_of(resource: Resource) -> bytes:
    """FHIR JSON. Decimals are numbers and keep the digits they came with."""
    return _ENCODER.encode(resource)
