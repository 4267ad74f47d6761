"""What must be said of whose codes are sent beside our own?"""

from service.fhir.codes import LOINC, SNOMED

LOINC_NOTICE = (
    "Some codes here are from LOINC (http://loinc.org), which is copyright © Regenstrief"
    " Institute, Inc. and the LOINC Committee, and is available at no cost under the license at"
    " http://loinc.org/license. LOINC® is a registered trademark of Regenstrief Institute, Inc."
)
SNOMED_NOTICE = (
    "Some identifiers here are from the Global Patient Set of SNOMED CT, which is copyright of"
    " SNOMED International; they are used as identifiers only, without any hierarchy."
)
_NOTICES = {LOINC: LOINC_NOTICE, SNOMED: SNOMED_NOTICE}


def notice_of(*systems: str) -> str | None:
    """The notices of these systems as one text; None where none asks for any."""
    told = [notice for system, notice in _NOTICES.items() if system in systems]
    return " ".join(told) or None
