"""Who is calling, and may they do this?"""

from litestar.response import Response

from service.application.service import Call
from service.domain.problem import NotAllowed, Problem
from service.domain.record import Principal, Refusal
from service.web.house import Ask, House, house_of, settle
from service.web.operation import Handler
from service.web.scopes import Needs, require

_NOTHING = Refusal(
    "no_credential",
    "Send an access token or an API key: Authorization: Bearer <it>, or X-API-Key: <key>.",
)


def guarded(handler: Handler, needs: Needs, deed: str = "") -> Handler:
    """``handler`` behind the question who calls and whether they have every scope in ``needs``.
    A scope that the handler itself finds missing is noted as well, and so is every refusal of a
    ``deed``, as the audit trail calls what is done to a patient's data here."""

    async def answer(request: Ask) -> Response[bytes]:
        call = await caller(request)
        try:
            require(call, needs)
            return await handler(request)
        except NotAllowed as refused:
            if refused.scope:
                await _note_scope(request, call, refused.scope)
            raise
        except Problem as problem:
            if deed:
                await house_of(request).refusals.note_deed(
                    problem, house_of(request).service, call, deed
                )
            raise

    return answer


async def _note_scope(request: Ask, call: Call, scope: str) -> None:
    house = house_of(request)
    audit = house.service.records.audit
    await house.refusals.note_scope(call.principal, scope, call.request_id, audit)


async def caller(request: Ask) -> Call:
    """The caller behind the credential of this request, found once. Raises NotAllowed,
    Unavailable, TooMany."""
    state = request.scope["state"]
    known: Call | None = state.get("call")
    if known is not None:
        return known
    house = house_of(request)
    request_id: str = state["request_id"]
    found = house.anyone or await _behind(house, _credential(request))
    if isinstance(found, Refusal):
        await house.refusals.note(found, request_id, house.service.records.audit)
        raise NotAllowed(found.detail, shown=found is not _NOTHING)
    call = Call(found, request_id)
    state["call"] = call
    house.running.turnstile.admit(state, found.credential)
    settle(request, found.org)
    return call


async def _behind(house: House, credential: tuple[str, str]) -> Principal | Refusal:
    """A token has two dots and comes in Authorization only; a key has one and comes in either."""
    kind, text = credential
    if not text:
        return _NOTHING
    if house.tokens is not None and kind == "bearer" and text.count(".") > 1:
        return await house.tokens.verify(text)
    return await house.authenticate(text)


def _credential(request: Ask) -> tuple[str, str]:
    """A wrong Authorization is not healed by a good key beside it."""
    authorization = request.headers.get("authorization")
    if authorization is None:
        return "key", request.headers.get("x-api-key", "").strip()
    scheme, _, text = authorization.partition(" ")
    return "bearer", text.strip() if scheme.lower() == "bearer" else ""
