"""Which entries make a transaction fail, with which status, and where is the fault told?"""

from tests.fhir.responses import Raw, answer_of
from tests.web.fhir.posted import URN, created, entry, person, response, without_person

REFERRED = {"subject": {"reference": f"{URN}1"}}


def bad_unit() -> Raw:
    raw = response("H-2")
    answer_of(raw, "patient.mass_kg")["valueQuantity"]["code"] = "lb"
    return raw


def child() -> Raw:
    raw = response("H-2")
    answer_of(raw, "patient.age_years")["valueQuantity"]["value"] = 12
    return raw


def posted(raw: Raw, **more: str) -> Raw:
    return entry(raw, "POST", "QuestionnaireResponse", **more)


ANOTHER = "identifier=urn%3Ax%7C1"
ENTRY = "Bundle.entry[1]"
BAD: dict[str, tuple[tuple[Raw, ...], int, tuple[str, str]]] = {
    "a wrong unit": (
        (posted(bad_unit()),),
        422,
        (f"{ENTRY}.resource.item[0].item[2].answer[0].valueQuantity.code", "form.unit"),
    ),
    "no sense": (
        (posted(child()),),
        422,
        (f"{ENTRY}.resource.item[0].item[1].answer[0]", "sense.adults_only"),
    ),
    "a dangling subject": (
        (posted({**without_person(), **REFERRED}),),
        422,
        (f"{ENTRY}.resource.subject.reference", "bundle.unresolved"),
    ),
    "a dangling author": (
        (posted({**response("H-2"), "author": {"reference": f"{URN}5"}}),),
        422,
        (f"{ENTRY}.resource.author.reference", "bundle.unresolved"),
    ),
    "a subject that is no patient": (
        (posted({**without_person(), "subject": {"reference": f"{URN}0"}}),),
        422,
        (f"{ENTRY}.resource.subject.reference", "form.reference"),
    ),
    "another type": (
        (entry({"resourceType": "Observation"}, "POST", "Observation"),),
        422,
        (f"{ENTRY}.resource.resourceType", "bundle.entry_type"),
    ),
    "a type that is not in the url": (
        (entry(response("H-2"), "POST", "Patient"),),
        422,
        (f"{ENTRY}.request.url", "bundle.url"),
    ),
    "a patient alone": (
        (entry(person(), "POST", "Patient"),),
        422,
        (ENTRY, "bundle.patient_alone"),
    ),
    "a patient under an id of the sender's": (
        (entry(person(), "PUT", "Patient/9"),),
        422,
        (f"{ENTRY}.request.url", "bundle.url"),
    ),
    "a patch": (
        (entry(response("H-2"), "PATCH", "QuestionnaireResponse/1"),),
        422,
        (f"{ENTRY}.request.method", "bundle.method"),
    ),
    "a delete": (
        (entry(None, "DELETE", "QuestionnaireResponse/1"),),
        422,
        (f"{ENTRY}.request.method", "bundle.method"),
    ),
    "no request": (({"resource": response("H-2")},), 422, (f"{ENTRY}.request", "shape.missing")),
    "the same fullUrl": (
        (created("H-2", f"{URN}0"),),
        422,
        (f"{ENTRY}.fullUrl", "bundle.full_url"),
    ),
    "a fullUrl that is not absolute": (
        (created("H-2", "QuestionnaireResponse/1"),),
        422,
        (f"{ENTRY}.fullUrl", "bundle.full_url"),
    ),
    "an unknown profile": (
        (posted({**response("H-2"), "meta": {"profile": ["http://ehr.example/own"]}}),),
        422,
        (f"{ENTRY}.resource.meta.profile[0]", "form.profile"),
    ),
    "no version": (
        (entry({**response("H-2"), "id": "1"}, "PUT", "QuestionnaireResponse/1"),),
        428,
        (ENTRY, "bundle.version_missing"),
    ),
    "an unknown id": (
        (entry({**response("H-2"), "id": "1"}, "PUT", "QuestionnaireResponse/1", ifMatch='W/"1"'),),
        404,
        (ENTRY, "bundle.not_found"),
    ),
    "a condition that cannot be kept to": (
        (created("H-2", ifNoneExist="patient=1"),),
        400,
        (ENTRY, "bundle.condition"),
    ),
    "one source twice": (
        tuple(
            posted({**response("H-2"), "identifier": {"system": "urn:s", "value": "1"}})
            for _ in range(2)
        ),
        422,
        ("Bundle.entry[2]", "bundle.same_resource"),
    ),
    "two persons": (
        (
            entry(person("H-7"), "POST", "Patient", f"{URN}1"),
            posted({**response("H-2"), **REFERRED}),
        ),
        422,
        ("Bundle.entry[2].resource.subject", "form.disagrees"),
    ),
    "two birth dates": (
        (
            entry({**person("H-2"), "birthDate": "1948"}, "POST", "Patient", f"{URN}1"),
            posted({**without_person(), **REFERRED}),
        ),
        422,
        ("Bundle.entry[1].resource.birthDate", "shape.time"),
    ),
    "a patient without an identifier": (
        (
            entry({"resourceType": "Patient"}, "POST", "Patient", f"{URN}1"),
            posted({**response("H-2"), **REFERRED}),
        ),
        422,
        ("Bundle.entry[1].resource.identifier", "form.identifier"),
    ),
    "a patient looked for by another identifier": (
        (
            entry(
                person("H-2"), "POST", "Patient", f"{URN}1", ifNoneExist="identifier=urn%3Ax%7C1"
            ),
            posted({**response("H-2"), **REFERRED}),
        ),
        422,
        ("Bundle.entry[1].request", "bundle.url"),
    ),
}
