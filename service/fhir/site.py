"""Under which addresses and with which words does this deployment speak FHIR?"""

from urllib.parse import quote

from msgspec import Struct

from service.domain.context import Setting
from service.fhir.codes import LOINC, SNOMED, STANDARD
from service.fhir.form import FormItem, form_of
from service.fhir.own_codes import OwnSystems, display
from service.fhir.own_systems import own_systems
from service.fhir.structs import CodeableConcept, Coding
from service.fhir.text import fhir_id, tidy
from service.rules.book import RuleBook

OWN_PATIENTS = "Patient/{id}"
CANONICAL = "https://stanchion.example/fhir"
STANDARD_SYSTEMS = frozenset({LOINC, SNOMED})


class Site(Struct, frozen=True):
    """Built once at start by :func:`site_of`.

    ``base``: where the resources live. ``canonical``: under which our own systems, profiles
    and definitions are published. ``standard``: the standard systems spoken beside our own.
    ``own``: our code systems. ``concepts`` fills itself with the closed vocabulary of the rule
    book, each concept once. ``setting``: where the organisation looks after people, for a screen
    that does not say it. ``patients``: the address of a subject, with ``{id}`` for our own id
    and ``{value}`` for that of the business identifier; null where only the identifier is told.
    """

    book: RuleBook
    base: str
    canonical: str
    standard: frozenset[str]
    form: tuple[FormItem, ...]
    own: OwnSystems
    concepts: dict[tuple[str, str], CodeableConcept]
    setting: Setting | None = None
    patients: str | None = OWN_PATIENTS

    def concept(self, kind: str, code: str, text: str) -> CodeableConcept:
        """Our own code of a ``kind``, the standard one beside it where listed, and the words.

        A coding's display is that of the published code system, or ``text`` where the code is no
        longer there, as in a plan of an older rule book.
        """
        known = self.concepts.get((kind, code))
        if known is None:
            known = self._new_concept(kind, code, text)
            self.concepts[kind, code] = known
        return known

    def extension(self, name: str) -> str:
        return f"{self.canonical}/StructureDefinition/{name}"

    def identifier_system(self, name: str) -> str:
        return f"{self.canonical}/identifier/{name}"

    def patient(self, patient: str, value: str) -> str | None:
        """Where the person is found whom we know as ``patient`` and others by ``value``."""
        if self.patients is None:
            return None
        return self.patients.replace("{id}", patient).replace("{value}", quote(value, safe=""))

    def profile(self, name: str) -> str:
        """The profile that resources of ours of one kind keep, without a version."""
        return f"{self.canonical}/StructureDefinition/stanchion-{name}"

    def definition(self, kind: str, native: str, version: str | None = None) -> str:
        """A canonical with the version of the rule book, this one's unless another is named."""
        return f"{self.canonical}/{kind}/{fhir_id(native)}|{version or self.book.ref.version}"

    def _new_concept(self, kind: str, code: str, text: str) -> CodeableConcept:
        text = tidy(text)
        told = display(self.own, kind, code) or text
        own = Coding(code_system(self.canonical, kind), code, told)
        listed = STANDARD.get((kind, code), ())
        standard = [one for one in listed if one.system in self.standard]
        return CodeableConcept((own, *standard), text)


def code_system(canonical: str, kind: str) -> str:
    return f"{canonical}/CodeSystem/{fhir_id(kind)}"


def site_of(
    book: RuleBook,
    base: str,
    canonical: str = CANONICAL,
    standard: frozenset[str] = STANDARD_SYSTEMS,
    patients: str | None = OWN_PATIENTS,
) -> Site:
    """The site at ``base``. Neither address ends with a slash."""
    canonical = canonical.rstrip("/")
    titles = {f"stages.{stage}": file.title for stage, file in book.stages.items()}
    own = own_systems(book)
    form = form_of(
        lambda kind: code_system(canonical, kind), titles, lambda *code: display(own, *code)
    )
    base = base.rstrip("/")
    return Site(book, base, canonical, standard, form, own, {}, patients=patients)
