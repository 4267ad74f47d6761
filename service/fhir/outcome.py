"""How is a fault told as an OperationOutcome?"""

import re

from service.domain.problem import (
    Conflict,
    Fault,
    KeyReused,
    NotAllowed,
    NotFound,
    Problem,
    Refused,
    StaleVersion,
    Unavailable,
    Unreadable,
    VersionMissing,
)
from service.fhir.narrative import bullets, narrative
from service.fhir.resources import Issue, OperationOutcome
from service.fhir.site import CANONICAL, code_system
from service.fhir.structs import CodeableConcept, Coding
from service.fhir.text import tidy

_BY_PROBLEM: dict[type[Problem], str] = {
    Unreadable: "structure",
    Refused: "invalid",
    NotFound: "not-found",
    Conflict: "duplicate",
    KeyReused: "conflict",
    StaleVersion: "conflict",
    VersionMissing: "required",
    NotAllowed: "login",
    Unavailable: "transient",
}
_BY_STATUS = {
    400: "structure",
    401: "login",
    403: "forbidden",
    404: "not-found",
    405: "not-supported",
    406: "not-supported",
    408: "timeout",
    409: "conflict",
    410: "deleted",
    412: "conflict",
    413: "too-long",
    414: "too-long",
    415: "not-supported",
    422: "invalid",
    428: "required",
    429: "throttled",
    431: "too-long",
    500: "exception",
    501: "not-supported",
    502: "transient",
    503: "transient",
    504: "timeout",
}
_BY_RULE = {
    "shape.missing": "required",
    "shape.empty": "required",
    "shape.unknown_field": "structure",
    "shape.word": "code-invalid",
    "search.unknown": "not-supported",
    "search.too_costly": "too-costly",
    "form.code": "code-invalid",
    "form.system": "code-invalid",
    "form.unit": "code-invalid",
    "form.extension": "extension",
    "form.modifier": "extension",
    "form.contained": "not-supported",
    "form.not_kept": "not-supported",
    "form.profile": "not-supported",
    "form.questionnaire": "not-supported",
    "form.resource_type": "not-supported",
    "form.status": "business-rule",
    "form.disagrees": "business-rule",
    "form.contradiction": "business-rule",
    "bundle.entry_type": "not-supported",
    "bundle.method": "not-supported",
    "bundle.type": "not-supported",
    "bundle.too_many": "too-costly",
    "bundle.patient_alone": "business-rule",
    "bundle.same_resource": "conflict",
    "bundle.conflict": "conflict",
    "bundle.stale": "conflict",
    "bundle.key_reused": "conflict",
    "bundle.not_found": "not-found",
    "bundle.unresolved": "not-found",
    "bundle.version_missing": "required",
}
_BY_ROOM = {
    "shape": "value",
    "sense": "business-rule",
    "json": "structure",
    "form": "structure",
    "bundle": "structure",
    "search": "value",
}
_SERVER_FAULT = 500
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


def outcome_of(problem: Problem, canonical: str = CANONICAL) -> OperationOutcome:
    """``problem`` with every fault of it as an issue of its own."""
    code = _BY_PROBLEM.get(type(problem), "processing")
    if isinstance(problem, NotAllowed) and problem.known:
        code = "forbidden"
    return _outcome(code, problem.detail, problem.faults, canonical)


def outcome_for_status(
    status: int, detail: str, faults: tuple[Fault, ...] = (), canonical: str = CANONICAL
) -> OperationOutcome:
    """The outcome for an HTTP ``status`` that no problem of ours stands behind."""
    code = _BY_STATUS.get(status, "exception" if status >= _SERVER_FAULT else "processing")
    return _outcome(code, detail, faults, canonical)


def expression_of(pointer: str) -> str:
    """A JSON Pointer as the simple FHIRPath that an OperationOutcome holds."""
    path = ""
    for part in pointer.split("/")[1:]:
        name = part.replace("~1", "/").replace("~0", "~")
        if name.isdecimal() and path:
            path += f"[{name}]"
            continue
        quoted = name if _PLAIN.fullmatch(name) else "`" + name.replace("`", "\\`") + "`"
        path += f".{quoted}" if path else quoted
    return path


def _outcome(code: str, detail: str, faults: tuple[Fault, ...], canonical: str) -> OperationOutcome:
    issues = tuple([_issue(fault, canonical) for fault in faults])
    if not issues:
        whole = CodeableConcept(text=tidy(detail))
        issues = (Issue(severity="error", code=code, details=whole),)
    told = [f"{', '.join(one.expression)} {one.details.text}".strip() for one in issues]
    return OperationOutcome(text=narrative(bullets(detail, told)), issue=issues)


def _issue(fault: Fault, canonical: str) -> Issue:
    room = fault.rule.partition(".")[0]
    rule = Coding(code_system(canonical, "fault"), fault.rule)
    path = expression_of(fault.path)
    return Issue(
        severity="error",
        code=_BY_RULE.get(fault.rule) or _BY_ROOM.get(room, "invalid"),
        details=CodeableConcept((rule,), tidy(fault.text)),
        expression=(tidy(path),) if path else (),
    )
