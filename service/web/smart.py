"""Where does a client get a token for this service, told as SMART App Launch asks?"""

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
from litestar.response import Response

from service.domain.problem import NotFound
from service.web import reply
from service.web.house import Ask, house_of
from service.web.tokens_issuers import Issuer

PATH = "/.well-known/smart-configuration"
"""Below the FHIR base; open to all."""

SCOPES = (
    "system/*.cruds",
    "system/QuestionnaireResponse.cruds",
    "system/Observation.rs",
    "system/CarePlan.rs",
    "system/Patient.rus",
    "system/AuditEvent.rs",
    "system/*.read",
    "system/*.write",
)
_OAUTH_URIS = "http://fhir-registry.smarthealthit.org/StructureDefinition/oauth-uris"


def configuration(issuers: Sequence[Issuer]) -> Mapping[str, Any]:
    """The document; of several issuers the first one's. Empty where there is none."""
    if not issuers:
        return {}
    first = issuers[0]
    return {
        "token_endpoint": first.token_endpoint,
        "grant_types_supported": ["client_credentials"],
        "scopes_supported": list(SCOPES),
        "code_challenge_methods_supported": ["S256"],
        "capabilities": list(first.capabilities),
    }


async def smart_configuration(request: Ask) -> Response[bytes]:
    """The document. Raises NotFound where no issuer is trusted."""
    document = house_of(request).smart
    if not document:
        raise NotFound("Tokens are not accepted here: API keys alone.")
    return reply.sent(request, msgspec.json.encode(document), "application/json")


def rest_security(document: Mapping[str, Any]) -> dict[str, Any]:
    """``CapabilityStatement.rest.security`` as FHIR JSON, for the ``smart`` of the house."""
    said: dict[str, Any] = {
        "cors": False,
        "description": (
            "An API key or an access token with SMART system scopes, sent as a bearer token."
            " Whatever a credential has no scope for answers 403 and names the scope."
        ),
    }
    if document:
        said["extension"] = [
            {
                "url": _OAUTH_URIS,
                "extension": [{"url": "token", "valueUri": document["token_endpoint"]}],
            }
        ]
        said["service"] = [
            {
                "coding": [
                    {
                        "system": (
                            "http://terminology.hl7.org/CodeSystem/restful-security-service"
                        ),
                        "code": "SMART-on-FHIR",
                    }
                ],
                "text": "OAuth2 client credentials, as SMART Backend Services has them.",
            }
        ]
    return said
