"""With which codes of the standard is each deed in the audit trail told?

Type, subtype, action and outcome are from the value sets that R4 binds them to: a RESTful
interaction where it was one, else the audit codes of DICOM.
"""

from collections.abc import Mapping

from msgspec import Struct

from service.fhir.base_facts import known_resources
from service.fhir.structs import Coding

REST = Coding("http://terminology.hl7.org/CodeSystem/audit-event-type", "rest", "RESTful Operation")
_INTERACTION = "http://hl7.org/fhir/restful-interaction"
_DICOM = "http://dicom.nema.org/resources/ontology/DCM"
_ACTIVITY = Coding(_DICOM, "110100", "Application Activity")
_EXPORT = Coding(_DICOM, "110106", "Export")
_IMPORT = Coding(_DICOM, "110107", "Import")
_RECORD = Coding(_DICOM, "110110", "Patient Record")
_ALERT = Coding(_DICOM, "110113", "Security Alert")
_LOGIN = Coding(_DICOM, "110114", "User Authentication")
_RIGHTS = Coding(_DICOM, "110137", "User security Attributes Changed")

SERVER = Coding(
    "http://terminology.hl7.org/CodeSystem/security-source-type", "4", "Application Server"
)
PERSON = Coding("http://terminology.hl7.org/CodeSystem/audit-entity-type", "1", "Person")
OTHER = Coding("http://terminology.hl7.org/CodeSystem/audit-entity-type", "4", "Other")
PATIENT = Coding("http://terminology.hl7.org/CodeSystem/object-role", "1", "Patient")
RESOURCE = Coding("http://terminology.hl7.org/CodeSystem/object-role", "4", "Domain Resource")
_RESOURCE_TYPES = "http://hl7.org/fhir/resource-types"

DONE, REFUSED, FAILED = "0", "4", "8"
_DONE = ("ok", "replayed")
_FAILED = ("Unavailable", "unreadable")


class Deed(Struct, frozen=True):
    """``action``: C, R, U, D or E. ``kind``: the type of resource that the target is of."""

    action: str
    type: Coding
    subtype: tuple[Coding, ...] = ()
    kind: str | None = None


def _rest(action: str, interaction: str, kind: str | None = None) -> Deed:
    return Deed(action, REST, (Coding(_INTERACTION, interaction, interaction),), kind)


_SCREEN, _PLAN = "QuestionnaireResponse", "CarePlan"
_INTERACTIONS: Mapping[str, str] = {
    "read": "R",
    "vread": "R",
    "history": "R",
    "search": "E",
    "create": "C",
    "update": "U",
}
_DEEDS: Mapping[str, Deed] = {
    "screen.record": _rest("C", "create", _SCREEN),
    "screen.correct": _rest("U", "update", _SCREEN),
    "screen.withdraw": _rest("U", "update", _SCREEN),
    "screen.read": _rest("R", "read", _SCREEN),
    "screen.find": _rest("E", "search", _SCREEN),
    "screen.list": _rest("E", "search", _SCREEN),
    "screen.preview": _rest("E", "operation", _SCREEN),
    "plan.read": _rest("R", "read", _PLAN),
    "plan.list": _rest("E", "search", _PLAN),
    "plan.overrule": _rest("U", "update", _PLAN),
    "plan.lapse": _rest("U", "update", _PLAN),
    "patient.find": _rest("E", "search", "Patient"),
    "patient.merge": _rest("U", "update", "Patient"),
    "audit.list": _rest("E", "search", "AuditEvent"),
    "batch.post": Deed("E", REST),
    "patient.erase": Deed("D", _RECORD, kind="Patient"),
    "credential.refuse": Deed("E", _LOGIN),
    "scope.refuse": Deed("E", _ALERT),
    "key.create": Deed("C", _ALERT, (_RIGHTS,)),
    "key.rotate": Deed("U", _ALERT, (_RIGHTS,)),
    "key.revoke": Deed("U", _ALERT, (_RIGHTS,)),
    "organisation.create": Deed("C", _ACTIVITY),
    "organisation.set": Deed("U", _ACTIVITY),
    "backup.make": Deed("R", _EXPORT),
    "backup.restore": Deed("C", _IMPORT),
    "audit.export": Deed("R", _EXPORT),
}
_KINDS: Mapping[str, str] = {kind.lower(): kind for kind in known_resources()}


def deed_of(action: str) -> Deed:
    """What an action of the trail is; one that is not known is an activity of the service."""
    known = _DEEDS.get(action)
    if known is not None:
        return known
    named, _, interaction = action.partition(".")
    kind = _KINDS.get(named)
    if kind is not None and interaction in _INTERACTIONS:
        return _rest(_INTERACTIONS[interaction], interaction, kind)
    if kind is not None and interaction == "validate":
        return _rest("E", "operation", kind)
    return Deed("E", _ACTIVITY)


def outcome_of(said: str) -> str:
    """Done; refused, which is for whoever asked to mend; or failed, which is for the service."""
    if said in _DONE:
        return DONE
    return FAILED if said in _FAILED else REFUSED


def of_kind(kind: str) -> Coding:
    """A type of resource as the type of an entity."""
    return Coding(_RESOURCE_TYPES, kind, kind)
