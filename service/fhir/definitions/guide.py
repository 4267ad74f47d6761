"""What does the package hold, told as tools that take packages read it?"""

from collections.abc import Mapping, Sequence

from service.fhir.base_facts import FHIR_VERSION
from service.fhir.definitions.examples import profile_shown
from service.fhir.definitions.heads import Definition, head
from service.fhir.narrative import bullets
from service.fhir.notices import notice_of
from service.fhir.site import Site
from service.fhir.structs import Element, Reference, Resource

PACKAGE = "stanchion.safepatienthandling"
LICENSE = "Apache-2.0"
ABOUT = "Bedside mobility screens in, a sourced plan for every move out."
_TITLE = "Stanchion"


class GuideResource(Element, frozen=True, kw_only=True):
    """``example_canonical``: the profile that an example keeps."""

    reference: Reference
    name: str
    description: str | None = None
    example_boolean: bool | None = None
    example_canonical: str | None = None


class GuideContent(Element, frozen=True):
    resource: tuple[GuideResource, ...]


class ImplementationGuide(Definition, frozen=True, kw_only=True, tag=True):
    package_id: str
    license: str
    fhir_version: tuple[str, ...]
    definition: GuideContent


def guide(
    site: Site, definitions: Sequence[Definition], examples: Mapping[str, Resource]
) -> ImplementationGuide:
    """``examples``: as :func:`service.fhir.definitions.examples.examples` names them."""
    told = [_defined(one) for one in definitions]
    told += [_shown(site, name, one) for name, one in examples.items()]
    story = bullets("Holds", [str(one.reference.reference) for one in told])
    return ImplementationGuide(
        **head(site, "ImplementationGuide", PACKAGE, _TITLE, ABOUT, story),
        copyright=notice_of(*site.standard),
        package_id=PACKAGE,
        license=LICENSE,
        fhir_version=(FHIR_VERSION,),
        definition=GuideContent(tuple(told)),
    )


def _defined(one: Definition) -> GuideResource:
    return GuideResource(
        reference=_reference(one),
        name=one.title or one.name,
        description=one.description,
        example_boolean=False,
    )


def _shown(site: Site, name: str, one: Resource) -> GuideResource:
    return GuideResource(
        reference=_reference(one),
        name=name,
        example_canonical=f"{site.profile(profile_shown(name))}|{site.book.ref.version}",
    )


def _reference(one: Resource) -> Reference:
    return Reference(reference=f"{type(one).__name__}/{one.id}")
