"""Who is calling?"""

from service.application.service import Call
from service.domain.problem import NotAllowed
from service.web.house import Ask, house_of

LONGEST_KEY = 200


async def caller(request: Ask) -> Call:
    """The caller behind the API key of this request. Raises NotAllowed."""
    house = house_of(request)
    request_id: str = request.scope["state"]["request_id"]
    if house.anyone is not None:
        return Call(house.anyone, request_id)
    key = _key(request)
    principal = await house.authenticate(key) if len(key) <= LONGEST_KEY else None
    if principal is None:
        raise NotAllowed("This API key is not known, has run out or was revoked.")
    return Call(principal, request_id)


def _key(request: Ask) -> str:
    authorization = request.headers.get("authorization")
    if authorization is None:
        key = request.headers.get("x-api-key", "").strip()
    else:
        scheme, _, token = authorization.partition(" ")
        key = token.strip() if scheme.lower() == "bearer" else ""
    if not key:
        raise NotAllowed("Send an API key: Authorization: Bearer <key>, or X-API-Key: <key>.")
    return key
