"""Which addresses do patients have, and what do they promise?"""

from service.domain.plan import Plan
from service.domain.record import PatientRecord, ScreenRecord
from service.domain.value import Identifier
from service.web import parameters as use
from service.web import patients
from service.web.bodies import MergeInto
from service.web.operation import Given, Operation
from service.web.paging import Listed
from service.web.scopes import needs

_TAG = "patients"
_ID = use.id_of("patient_id", "patient")
_MOVED = Given("This patient was merged into another: see Location.", headers=("Location",))

PATIENTS: tuple[Operation, ...] = (
    Operation(
        method="POST",
        path="/v1/patients/find",
        handler=patients.find,
        id="findPatient",
        deed="patient.find",
        tag=_TAG,
        needs=needs("Patient", "s"),
        summary="Find a patient by a business identifier, which never stands in an address",
        body=Identifier,
        examples="identifier",
        answers={200: Given("The patient under the service's own id.", PatientRecord)},
        problems=(404, 408, 413, 415, 422),
    ),
    Operation(
        method="GET",
        path="/v1/patients/{patient_id}",
        handler=patients.read,
        id="readPatient",
        deed="patient.read",
        tag=_TAG,
        needs=needs("Patient", "r"),
        summary="Read a patient",
        parameters=(_ID,),
        answers={200: Given("The patient.", PatientRecord), 301: _MOVED},
        problems=(404,),
    ),
    Operation(
        method="GET",
        path="/v1/patients/{patient_id}/screens",
        handler=patients.screens,
        id="screensOfPatient",
        deed="screen.list",
        tag=_TAG,
        needs=needs("QuestionnaireResponse", "s"),
        summary="List a patient's screens, newest observed first",
        parameters=(_ID, use.LIMIT, use.CURSOR),
        answers={200: Given("A page of screens.", Listed[ScreenRecord]), 301: _MOVED},
        problems=(404, 422),
    ),
    Operation(
        method="GET",
        path="/v1/patients/{patient_id}/plan",
        handler=patients.plan,
        id="currentPlan",
        deed="plan.read",
        tag=_TAG,
        needs=needs("CarePlan", "r"),
        summary="Read a patient's current plan; one that has run out is given as lapsed",
        parameters=(_ID, use.IF_NONE_MATCH),
        answers={
            200: Given("The plan.", Plan, headers=("ETag", "Cache-Control")),
            301: _MOVED,
            304: Given("What you hold is as it is now."),
        },
        problems=(404,),
    ),
    Operation(
        method="GET",
        path="/v1/patients/{patient_id}/plans",
        handler=patients.all_plans,
        id="plansOfPatient",
        deed="plan.list",
        tag=_TAG,
        needs=needs("CarePlan", "s"),
        summary="List a patient's plans, newest observed first, each in its state of this moment",
        parameters=(_ID, use.LIMIT, use.CURSOR),
        answers={200: Given("A page of plans.", Listed[Plan]), 301: _MOVED},
        problems=(404, 422),
    ),
    Operation(
        method="POST",
        path="/v1/patients/{patient_id}/merge",
        handler=patients.merge,
        id="mergePatients",
        deed="patient.merge",
        tag=_TAG,
        needs=needs("Patient", "u"),
        summary="Say that this patient is the same person as another, who stays",
        parameters=(_ID,),
        body=MergeInto,
        examples="merge",
        answers={200: Given("The patient that stays.", PatientRecord)},
        problems=(404, 408, 409, 413, 415, 422),
    ),
)
