"""Which address does the audit trail have, and what does it promise?"""

from datetime import datetime
from typing import Annotated

from msgspec import Meta

from service.web import audit
from service.web import parameters as use
from service.web.negotiate import Form
from service.web.operation import Given, Operation, Parameter
from service.web.paging import Listed
from service.web.scopes import needs

_SINCE = Parameter(
    "since",
    "query",
    Annotated[datetime, Meta(tz=True)],
    "Entries noted at or after this time.",
    required=True,
)

AUDIT: tuple[Operation, ...] = (
    Operation(
        method="GET",
        path="/v1/audit",
        handler=audit.since,
        id="auditSince",
        deed="audit.list",
        tag="audit",
        needs=needs("AuditEvent", "s"),
        summary="List who did what to whose data, oldest first: the feed for following the trail",
        text=(
            "Needs a scope that names it, `system/AuditEvent.s`: `system/*` does not stand for the"
            " audit trail. An entry comes ten seconds after it was noted, so that none with an"
            " earlier time comes in behind it. Reading the trail is noted in it."
        ),
        parameters=(_SINCE, use.LIMIT, use.CURSOR),
        answers={200: Given("A page of entries.", Listed[audit.AuditLine], (Form.NATIVE,))},
        problems=(422,),
    ),
)
