"""Which resource is to be looked at, and against what, when ``$validate`` is called?"""

from typing import Any

from msgspec import Struct

from service.fhir.validate_finding import Finding, Rule

MODES = ("create", "update", "profile")


class Asked(Struct, frozen=True):
    """``resource``: None where none was sent. ``mode``: empty where none was named."""

    resource: Any
    mode: str = ""
    profiles: tuple[str, ...] = ()


def asked_of(body: Any, kind: str = "") -> Asked:
    """``body``: a resource, or Parameters that hold one. Parameters that are sent to their own
    address and hold none are what is to be looked at."""
    if not isinstance(body, dict) or body.get("resourceType") != "Parameters":
        return Asked(body)
    listed = body.get("parameter")
    given = [each for each in listed if isinstance(each, dict)] if isinstance(listed, list) else []
    resources = [each.get("resource") for each in given if each.get("name") == "resource"]
    if not resources and kind == "Parameters":
        return Asked(body)
    return Asked(
        resources[0] if resources else None,
        _text(given, "mode", ("valueCode", "valueString")),
        tuple(
            found
            for each in given
            if (found := _text([each], "profile", ("valueUri", "valueCanonical", "valueUrl")))
        ),
    )


def _text(given: list[dict[str, Any]], name: str, values: tuple[str, ...]) -> str:
    for each in given:
        if each.get("name") == name:
            found = next((each[value] for value in values if value in each), "")
            return found if isinstance(found, str) else ""
    return ""


def mode_findings(asked: Asked, resource_id: str = "") -> tuple[Finding, ...]:
    """What the mode itself says; ``resource_id``: the one that the address names, if any."""
    if asked.mode == "delete":
        text = "Nothing is deleted here: a screen is withdrawn. Ask for create or update."
        return (Finding(Rule.MODE, "", text),)
    if asked.mode and asked.mode not in MODES:
        return (Finding(Rule.MODE, "", f"Say mode as one of {', '.join(MODES)}."),)
    named = asked.resource.get("id") if isinstance(asked.resource, dict) else None
    if resource_id and named is not None and named != resource_id:
        text = "The resource has another id than the address. Correct one of them."
        return (Finding(Rule.OTHER_ID, f"{asked.resource.get('resourceType')}.id", text),)
    return ()
