"""What can be done with FHIR from the command line?"""

from service.commands import Parsers, fhir_package, fhir_validate


def add(commands: Parsers) -> None:
    fhir = commands.add_parser("fhir", help="FHIR resources and definitions")
    actions = fhir.add_subparsers(required=True, metavar="action")
    for module in (fhir_package, fhir_validate):
        module.add_parser(actions)
