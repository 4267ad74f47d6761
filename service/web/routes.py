"""Which addresses are there? Every one, in the order of the document."""

from service.web.operation import Operation
from service.web.routes_audit import AUDIT
from service.web.routes_patients import PATIENTS
from service.web.routes_plans import PLANS
from service.web.routes_rules import HEALTH, PAGES, RULES
from service.web.routes_screens import SCREENS

OPERATIONS: tuple[Operation, ...] = (*SCREENS, *PATIENTS, *PLANS, *AUDIT, *RULES, *HEALTH, *PAGES)
