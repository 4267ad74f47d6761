"""What do we promise of the other resources that leave?"""

from msgspec.structs import replace

from service.fhir.definitions.profile_elements import ElementDefinition
from service.fhir.definitions.slots import always, bound, invariant, never, ours, person, slot
from service.fhir.questionnaire_response import QUESTIONNAIRE
from service.fhir.site import Site


def patient(_: Site) -> list[ElementDefinition]:
    return [
        slot("Patient", "The person screened, and no more than the rules and the record need."),
        always("Patient.text", "The person in words."),
        slot("Patient.identifier", "Business identifiers; at least one.", low=1, must=True),
        slot("Patient.name", "The name, where it was sent.", must=True),
        slot("Patient.gender", "Where it was sent.", must=True),
        slot(
            "Patient.birthDate",
            "Where it was sent; an age alone is not turned into one.",
            must=True,
        ),
    ]


def response(site: Site) -> list[ElementDefinition]:
    form = f"{site.canonical}/Questionnaire/{QUESTIONNAIRE}"
    answers = invariant(
        site, "stn-response-1", "It answers the bedside mobility screen of a stated version.",
        f"questionnaire.startsWith('{form}|')", "questionnaire-response",
    )  # fmt: skip
    return [
        replace(
            slot("QuestionnaireResponse", "A bedside mobility screen as it was answered."),
            constraint=(answers,),
        ),
        always("QuestionnaireResponse.text", "Every answer in words."),
        always("QuestionnaireResponse.identifier", "The id of the screen."),
        replace(
            always("QuestionnaireResponse.identifier.system", "That it is ours."),
            fixed_uri=site.identifier_system("screen"),
        ),
        always("QuestionnaireResponse.identifier.value", "The id of the screen."),
        always("QuestionnaireResponse.questionnaire", "The form and its version."),
        always("QuestionnaireResponse.status", "Completed, amended, or entered in error."),
        *person("QuestionnaireResponse.subject"),
        always("QuestionnaireResponse.authored", "When the screen was done."),
        slot("QuestionnaireResponse.author", "Who screened.", must=True),
        slot("QuestionnaireResponse.item", "The rooms of the form.", low=1, must=True),
    ]


def provenance(_: Site) -> list[ElementDefinition]:
    return [
        slot("Provenance", "From which screen, by whom, by which rules, and who chose otherwise."),
        always("Provenance.text", "The same in words."),
        slot("Provenance.target", "Exactly these versions.", low=1, must=True),
        always(
            "Provenance.occurred[x]",
            "When the screen was done; after that, when the plan was overruled or ended early.",
            "dateTime",
        ),
        slot("Provenance.reason", "Why it was corrected, withdrawn, overruled, ended.", must=True),
        always("Provenance.activity", "What was done, the last thing of it last."),
        slot(
            "Provenance.agent",
            "Who screened or sent, whoever chose otherwise, and the software.",
            low=2,
            must=True,
        ),
        slot("Provenance.entity", "The version of the response.", low=1, must=True),
    ]


def goal(site: Site) -> list[ElementDefinition]:
    return [
        slot("Goal", "What the person is to reach next: a stage, or a time to stand."),
        always("Goal.text", "The goal in words."),
        *ours(site, "Goal", "goal", "One a patient and kind."),
        always("Goal.lifecycleStatus", "Where it stands."),
        replace(always("Goal.description", "The goal."), binding=bound(site, "goal", "preferred")),
        *person("Goal.subject"),
        slot("Goal.target", "What is measured, and how far.", low=1, must=True),
        always("Goal.target.measure", "The stage."),
        always("Goal.target.detail[x]", "To be reached.", "Quantity", "CodeableConcept"),
        always("Goal.statusDate", "Since when it stands so."),
    ]


def flag(site: Site) -> list[ElementDefinition]:
    return [
        slot("Flag", "What whoever comes to the bedside must know at once."),
        always("Flag.text", "The flag and why, in words."),
        *ours(site, "Flag", "flag", "One a patient and kind."),
        always("Flag.status", "Only an active one warns."),
        slot("Flag.category", "Safety.", low=1, must=True),
        replace(
            always("Flag.code", "At risk of falls, or not to be moved."),
            binding=bound(site, "flag"),
        ),
        *person("Flag.subject"),
        always("Flag.period", "Since when."),
        always("Flag.period.start", "Since when."),
        always("Flag.author", "The software, with the digest of its rule book."),
    ]


def task(site: Site) -> list[ElementDefinition]:
    return [
        slot("Task", "By when the person is to be screened again."),
        always("Task.text", "The same in words."),
        *ours(site, "Task", "task", "One a patient."),
        always("Task.status", "Whether it is still to be done."),
        replace(always("Task.intent", "Always a plan, never an order."), fixed_code="plan"),
        replace(always("Task.code", "Screen again."), binding=bound(site, "task")),
        always("Task.description", "By when, in words."),
        always("Task.focus", "The plan that it belongs to."),
        *person("Task.for"),
        never("Task.owner", "Nobody is told to do it by us."),
        always("Task.restriction", "By when."),
        always("Task.restriction.period", "From the plan's begin to when the screen is due."),
    ]


def device(site: Site) -> list[ElementDefinition]:
    return [
        slot("Device", "The software with the rule book that it used."),
        *ours(site, "Device", "rule-book", "The digest of the rule book."),
        slot("Device.deviceName", "Its name, with the version of the rule book.", low=1, must=True),
        slot("Device.version", "The digest, for machines.", low=1, must=True),
    ]
