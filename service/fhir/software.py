"""How is the software told of that made a plan?"""

from service.domain.plan import RuleBookRef
from service.fhir.narrative import said
from service.fhir.resources import Device, DeviceName, DeviceVersion
from service.fhir.site import Site
from service.fhir.structs import Identifier, Meta

_LETTERS_OF_DIGEST = 40


def device_id(ref: RuleBookRef) -> str:
    """The software is another device with every rule book."""
    return f"rule-book-{ref.digest[:_LETTERS_OF_DIGEST]}"


def device_of(site: Site, ref: RuleBookRef, contained_as: str | None = None) -> Device:
    """The software with the rule book ``ref``; by itself, or inside a resource under an id there,
    where it has neither a version nor a narrative."""
    digest = site.concept("device-version", "rule_book_digest", "SHA-256 of the rule book")
    name = f"Stanchion, rule book {ref.version}"
    profile = (site.profile("device"),)
    alone = contained_as is None
    return Device(
        id=contained_as or device_id(ref),
        meta=Meta(version_id="1" if alone else None, profile=profile),
        text=said(f"{name} ({ref.digest})") if alone else None,
        identifier=(Identifier(site.identifier_system("rule-book"), ref.digest),),
        device_name=(DeviceName(name, "user-friendly-name"),),
        version=(DeviceVersion(digest, ref.digest),),
    )
