"""Which changes of an example break a promise of its profile, and what is said of each?"""

from collections.abc import Callable
from typing import Any

from tests.fhir.answers import SITE
from tests.fhir.definitions.published import Json

Change = Callable[[Json], None]


def put(name: str, value: Any) -> Change:
    def change(resource: Json) -> None:
        resource[name] = value

    return change


def drop(*names: str | int) -> Change:
    """Takes away what stands under the last name."""

    def change(resource: Json) -> None:
        place: Any = resource
        for name in names[:-1]:
            place = place[name]
        del place[names[-1]]

    return change


def detail(resource: Json) -> Json:
    found: Json = resource["activity"][0]["detail"]
    return found


def unhelped(resource: Json) -> None:
    url = SITE.extension("helpers")
    told = detail(resource)
    told["extension"] = [one for one in told["extension"] if one["url"] != url]


def helped_not_to_move(resource: Json) -> None:
    detail(resource)["code"]["coding"][0]["code"] = "do_not_move"


def without_move(resource: Json) -> None:
    del detail(resource)["extension"][0]


def to_the_moon(resource: Json) -> None:
    move = detail(resource)["extension"][0]
    move["valueCodeableConcept"]["coding"][0]["code"] = "to_the_moon"


def two_moves(resource: Json) -> None:
    told = detail(resource)["extension"]
    told.append(told[0])


def overruled(resource: Json) -> Json:
    """The first move that was overruled, which is with less support."""
    url, details = SITE.extension("overrule"), [one["detail"] for one in resource["activity"]]
    found: list[Json] = [
        each for each in details if any(one["url"] == url for one in each["extension"])
    ]
    return found[0]


def part(resource: Json, name: str) -> Json:
    (whole,) = (one for one in overruled(resource)["extension"] if one["url"].endswith("/overrule"))
    (found,) = (one for one in whole["extension"] if one["url"] == name)
    return {"whole": whole, "part": found}


def as_computed(resource: Json) -> None:
    told = overruled(resource)
    told["code"] = part(resource, "computed")["part"]["valueCodeableConcept"]


def without_part(name: str) -> Change:
    def change(resource: Json) -> None:
        found = part(resource, name)
        found["whole"]["extension"].remove(found["part"])

    return change


def by_a_name(resource: Json) -> None:
    by = part(resource, "by")["part"]
    del by["valueReference"]
    by["valueString"] = "S-1"


def as_if_computed(resource: Json) -> None:
    told = overruled(resource)
    told["description"] = f"On their own. {told['description']}"


def played_down(resource: Json) -> None:
    told = overruled(resource)
    told["description"] = told["description"].replace("LESS SUPPORTED", "Less supported")


def chosen_twice(resource: Json) -> None:
    told = overruled(resource)["extension"]
    told.append(part(resource, "by")["whole"])


def forbidden(resource: Json) -> None:
    detail(resource)["doNotPerform"] = True


def nothing_done(resource: Json) -> None:
    resource["activity"][0] = {"reference": {"reference": "ServiceRequest/a"}}


def empty_part(resource: Json) -> None:
    resource["component"] = [{"code": {"text": "a part"}}]


BROKEN: list[tuple[str, Change, str]] = [
    ("care-plan", unhelped, "stn-plan-1"),
    ("care-plan", helped_not_to_move, "stn-plan-1"),
    ("care-plan", without_move, "extension"),
    ("care-plan", to_the_moon, "extension"),
    ("care-plan", two_moves, "extension"),
    ("care-plan-overruled", as_computed, "stn-plan-2"),
    ("care-plan-overruled", as_if_computed, "stn-plan-3"),
    ("care-plan-overruled", played_down, "stn-plan-4"),
    ("care-plan-overruled", chosen_twice, "extension"),
    *[
        ("care-plan-overruled", without_part(name), "extension")
        for name in ("computed", "reason", "by", "at", "lessSupported")
    ],
    ("care-plan-overruled", by_a_name, "extension"),
    ("care-plan", forbidden, "doNotPerform"),
    ("care-plan", nothing_done, "detail"),
    ("care-plan", drop("activity", 0, "detail", "description"), "description"),
    ("care-plan", drop("category", 1), "category"),
    ("care-plan", drop("subject", "identifier"), "identifier"),
    ("care-plan", drop("period", "end"), "end"),
    ("care-plan", put("intent", "order"), "intent"),
    ("panel", put("valueInteger", 1), "value"),
    ("panel", put("component", [{"code": {"text": "a"}, "valueInteger": 1}]), "component"),
    ("panel", put("status", "preliminary"), "stn-panel-status"),
    ("panel", drop("category", 0), "category"),
    ("finding", put("status", "registered"), "stn-finding-status"),
    ("finding", drop("valueInteger"), "stn-finding-1"),
    ("finding", empty_part, "stn-finding-2"),
    ("finding", drop("subject", "identifier"), "identifier"),
    ("finding", put("code", {"coding": [{"system": "urn:a", "code": "b"}]}), "code"),
    ("vital-sign", drop("valueQuantity"), "stn-vital-1"),
    ("vital-sign", empty_part, "stn-vital-sign-2"),
    ("vital-sign", put("status", "cancelled"), "stn-vital-sign-status"),
    ("questionnaire-response", put("questionnaire", "http://a.example|1"), "stn-response-1"),
    ("questionnaire-response", drop("identifier"), "identifier"),
    ("patient", drop("identifier"), "identifier"),
    ("provenance", drop("agent", 0), "agent"),
    ("goal", drop("target", 0, "measure"), "measure"),
    ("flag", drop("period", "start"), "start"),
    ("task", put("intent", "order"), "intent"),
    ("task", put("owner", {"display": "Ward"}), "owner"),
    ("device", drop("identifier"), "identifier"),
]
"""The name of the example, the change, and a word of what is said of it."""
