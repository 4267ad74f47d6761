"""Which search parameter finds something else than the standard's of that name?"""

from msgspec.structs import replace

from service.fhir.definitions.heads import Definition, head
from service.fhir.site import Site

PROVENANCE_PATIENT = "provenance-patient"
_TITLE = "Provenance by patient"
_ABOUT = (
    "Finds each Provenance that tells of anything that is the patient's: response, findings or"
    " plan. The standard's parameter of that name finds what names the Patient itself."
)


class SearchParameter(Definition, frozen=True, kw_only=True, tag=True):
    """Without ``expression``: whose it is stands in the resources that are the targets."""

    code: str
    base: tuple[str, ...]
    type: str
    target: tuple[str, ...]
    multiple_or: bool
    multiple_and: bool
    modifier: tuple[str, ...]
    chain: tuple[str, ...]


def search_parameters(site: Site) -> list[SearchParameter]:
    made = SearchParameter(
        **head(site, "SearchParameter", PROVENANCE_PATIENT, _TITLE, _ABOUT),
        code="patient",
        base=("Provenance",),
        type="reference",
        target=("Patient",),
        multiple_or=True,
        multiple_and=True,
        modifier=("identifier",),
        chain=("identifier",),
    )
    return [replace(made, title=None)]
