"""Which resources are broken in one place each, and where do others judge them differently?"""

from typing import Any

from tests.fhir.broken import OBSERVATION, TEXT, changed

Json = dict[str, Any]
BUNDLE: Json = {
    "resourceType": "Bundle",
    "type": "collection",
    "entry": [{"fullUrl": "http://a.example/Observation/a", "resource": OBSERVATION}],
}
UUID = "urn:uuid:c757873d-ec9a-4326-a141-556f43239520"
LED = changed(BUNDLE, "entry", [*BUNDLE["entry"], {"fullUrl": UUID, "resource": {
    "resourceType": "Organization", "name": "x", "text": TEXT}}])  # fmt: skip
PATIENT: Json = {"resourceType": "Patient", "id": "p", "text": TEXT, "birthDate": "1948-03-02"}
PLAN: Json = {
    "resourceType": "CarePlan",
    "id": "c",
    "text": TEXT,
    "status": "active",
    "intent": "plan",
    "subject": {"reference": "Patient/p"},
    "period": {"start": "2026-01-01", "end": "2026-01-31"},
}
GOAL: Json = {
    "resourceType": "Goal",
    "id": "g",
    "text": TEXT,
    "lifecycleStatus": "active",
    "description": {"text": "x"},
    "subject": {"reference": "Patient/p"},
}
FORM: Json = {
    "resourceType": "Questionnaire",
    "id": "q",
    "text": TEXT,
    "status": "draft",
    "name": "Form",
    "item": [{"linkId": "a", "type": "string"}, {"linkId": "b", "type": "string"}],
}
RANGE: Json = {"low": {"value": 1}, "high": {"value": 2}}

# What the first validator of others lets pass: each is against the standard.
MISSED_BY_OFFICIAL = {
    # an object where an array belongs, texts that are empty or hold what they must not
    "text for array", "empty text", "code with spaces", "address with a space",
    "control character",
    # the calendar
    "30 February", "month 13",
    # invariants of data types
    "qty-3", "att-1", "rng-2", "cpt-2",
    # what only the code's own system says
    "unit out of form", "LOINC check digit", "a power with a caret", "value set for a system",
    # what stands beside or inside is looked at by nobody
    "OID out of form", "nothing but an id", "half the address of an extension",
    # a browser leaves out the tab
    "narrative with a script behind a tab",
    # where a reference leads by way of an entry
    "an entry of a wrong type",
}  # fmt: skip
# The second looks at the form of JSON alone: of the rest, this much of form it lets pass.
MISSED_BY_FORM = {
    "empty object", "id with a line", "id too long", "30 February", "control character",
    "OID out of form", "text too long", "nothing but an id", "half the address of an extension",
    "an entry with half an address",
}  # fmt: skip

# Name → (good resource, where, what is put there, the rule and path that we tell).
TABLE: dict[str, tuple[Json, str, Any, str, str]] = {
    "unknown element": (OBSERVATION, "foo", 1, "unknown_element", "Observation.foo"),
    "unknown element inside": (OBSERVATION, "code.foo", 1, "unknown_element",
                               "Observation.code.foo"),
    "required gone": (OBSERVATION, "status", ..., "missing", "Observation.status"),
    "required inside gone": (PATIENT, "link", [{"type": "refer"}], "missing",
                             "Patient.link[0].other"),
    "text for array": (OBSERVATION, "category", {"text": "x"}, "json_form",
                       "Observation.category"),
    "array for one": (OBSERVATION, "code", [{"text": "x"}], "json_form", "Observation.code"),
    "object for code": (OBSERVATION, "status", {"value": "final"}, "json_form",
                        "Observation.status"),
    "text for number": (OBSERVATION, "valueQuantity.value", "72.5", "json_form",
                        "Observation.value.value"),
    "number for text": (OBSERVATION, "valueQuantity.unit", 7, "json_form",
                        "Observation.value.unit"),
    "text for boolean": (PATIENT, "active", "true", "json_form", "Patient.active"),
    "fraction for whole number": (BUNDLE, "total", 1.5, "json_form", "Bundle.total"),
    "null": (OBSERVATION, "status", None, "empty", "Observation.status"),
    "empty text": (OBSERVATION, "valueQuantity.unit", "", "empty", "Observation.value.unit"),
    "empty array": (OBSERVATION, "category", [], "empty", "Observation.category"),
    "empty object": (OBSERVATION, "code", {}, "empty", "Observation.code"),
    "two values": (OBSERVATION, "valueString", "x", "one_choice", "Observation.value"),
    "no such choice": (OBSERVATION, "valueAddress", {"text": "x"}, "unknown_element",
                       "Observation.valueAddress"),
    "id with a line": (OBSERVATION, "id", "a_b", "value_form", "Observation.id"),
    "id too long": (OBSERVATION, "id", "a" * 65, "value_form", "Observation.id"),
    "date out of form": (PATIENT, "birthDate", "1948-3-2", "value_form", "Patient.birthDate"),
    "30 February": (PATIENT, "birthDate", "1948-02-30", "not_in_calendar", "Patient.birthDate"),
    "month 13": (PATIENT, "birthDate", "1948-13-02", "value_form", "Patient.birthDate"),
    "time without zone": (OBSERVATION, "effectiveDateTime", "2026-01-31T09:30:00", "value_form",
                          "Observation.effective"),
    "instant without time": (OBSERVATION, "issued", "2026-01-31", "value_form",
                             "Observation.issued"),
    "code with spaces": (OBSERVATION, "valueQuantity.code", " kg", "value_form",
                         "Observation.value.code"),
    "address with a space": (PATIENT, "identifier", [{"system": "a b", "value": "1"}],
                             "value_form", "Patient.identifier[0].system"),
    "control character": (OBSERVATION, "code.text", "a\x01b", "value_form",
                          "Observation.code.text"),
    "negative count": (BUNDLE, "total", -1, "value_form", "Bundle.total"),
    "no base64": (PATIENT, "photo", [{"contentType": "image/png", "data": "!"}], "value_form",
                  "Patient.photo[0].data"),
    "status not in set": (OBSERVATION, "status", "finall", "code_not_in_set",
                          "Observation.status"),
    "gender not in set": (PATIENT, "gender", "f", "code_not_in_set", "Patient.gender"),
    "intent not in set": (PLAN, "intent", "wish", "code_not_in_set", "CarePlan.intent"),
    "comparator not in set": (OBSERVATION, "valueQuantity.comparator", "=<", "code_not_in_set",
                              "Observation.value.comparator"),
    "reference to a wrong type": (OBSERVATION, "subject.reference", "Practitioner/p",
                                  "reference_type", "Observation.subject"),
    "reference to no type": (OBSERVATION, "subject.reference", "Human/p", "reference_type",
                             "Observation.subject.reference"),
    "reference to nothing inside": (OBSERVATION, "subject.reference", "#p", "invariant",
                                    "Observation.subject"),
    "obs-6": (OBSERVATION, "dataAbsentReason", {"text": "x"}, "invariant", "Observation"),
    "obs-3": (OBSERVATION, "referenceRange", [{"type": {"text": "x"}}], "invariant",
              "Observation.referenceRange[0]"),
    "qty-3": (OBSERVATION, "valueQuantity.system", ..., "invariant", "Observation.value"),
    "att-1": (PATIENT, "photo", [{"data": "YQ=="}], "invariant", "Patient.photo[0]"),
    "rng-2": (changed(changed(OBSERVATION, "valueQuantity", ...), "valueRange", RANGE),
              "valueRange.low.value", 3, "invariant", "Observation.value"),
    "per-1": (PLAN, "period.end", "2025-12-31", "invariant", "CarePlan.period"),
    "ext-1": (PATIENT, "extension", [{"url": "http://a.example/e"}], "invariant",
              "Patient.extension[0]"),
    "cpt-2": (PATIENT, "telecom", [{"value": "1"}], "invariant", "Patient.telecom[0]"),
    "gol-1": (GOAL, "target", [{"detailString": "x"}], "invariant", "Goal.target[0]"),
    "cpl-3": (PLAN, "activity", [{"reference": {"display": "x"},
                                  "detail": {"status": "scheduled"}}], "invariant",
              "CarePlan.activity[0]"),
    "que-2": (FORM, "item.1.linkId", "a", "invariant", "Questionnaire"),
    "que-1": (FORM, "item.1.type", "group", "invariant", "Questionnaire.item[1]"),
    "bdl-1": (BUNDLE, "total", 1, "invariant", "Bundle"),
    "bdl-7": (BUNDLE, "entry", BUNDLE["entry"] * 2, "invariant", "Bundle"),
    "narrative with a script": (OBSERVATION, "text.div", TEXT["div"].replace(
        "Said.", "<script>a</script>"), "invariant", "Observation.text.div"),
    "narrative that says nothing": (OBSERVATION, "text.div", TEXT["div"].replace("Said.", " "),
                                    "invariant", "Observation.text.div"),
    "unit out of form": (OBSERVATION, "valueQuantity.code", "kg//m", "unit_form",
                         "Observation.value.code"),
    "LOINC check digit": (OBSERVATION, "code.coding.0.code", "29463-8", "code_form",
                          "Observation.code.coding[0].code"),
    "OID out of form": (PATIENT, "identifier", [{"system": "urn:oid:1.02", "value": "1"}],
                        "value_form", "Patient.identifier[0].system"),
    "text too long": (PATIENT, "name", [{"text": "a" * 1_048_577}], "value_form",
                      "Patient.name[0].text"),
    "nothing but an id": (changed(PATIENT, "birthDate", ...), "_birthDate", {"id": "x"}, "empty",
                          "Patient.birthDate"),
    "half the address of an extension": (PATIENT, "extension", [{"url": "e", "valueCode": "x"}],
                                         "value_form", "Patient.extension[0].url"),
    "a power with a caret": (OBSERVATION, "valueQuantity.code", "m^2", "unit_form",
                             "Observation.value.code"),
    "value set for a system": (OBSERVATION, "code.coding.0", {
        "system": "http://hl7.org/fhir/ValueSet/observation-codes", "code": "x"}, "code_form",
                               "Observation.code.coding[0].system"),
    "reference to a mailbox": (OBSERVATION, "subject.reference", "mailto:a@b.example",
                               "reference_form", "Observation.subject.reference"),
    "type of no resource": (OBSERVATION, "subject.type", "Human", "reference_type",
                            "Observation.subject.type"),
    "narrative with an entity of HTML": (OBSERVATION, "text.div", TEXT["div"].replace(
        "Said.", "a&nbsp;b"), "invariant", "Observation.text.div"),
    "narrative with a script behind a tab": (OBSERVATION, "text.div", TEXT["div"].replace(
        "Said.", '<a href="java&#9;script:a()">a</a>'), "invariant", "Observation.text.div"),
    "que-13": (FORM, "item.1.initial", [{"valueString": "x"}, {"valueString": "y"}], "invariant",
               "Questionnaire.item[1]"),
    "an entry with half an address": (BUNDLE, "entry.0.fullUrl", "Observation/a", "value_form",
                                      "Bundle.entry[0].fullUrl"),
    "an entry of another id": (BUNDLE, "entry.0.fullUrl", "http://a.example/Observation/b",
                               "other_id", "Bundle.entry[0].fullUrl"),
    "an entry of a wrong type": (LED, "entry.0.resource.subject.reference", UUID,
                                 "reference_type", "Bundle.entry[0].resource.subject"),
    "inside an entry": (BUNDLE, "entry.0.resource.status", "finall", "code_not_in_set",
                        "Bundle.entry[0].resource.status"),
    "no such resource": (PATIENT, "resourceType", "Human", "unknown_type", ""),
}  # fmt: skip
