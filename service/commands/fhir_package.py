"""How does an interface team get the definitions? As a package that their validator loads."""

import sys
from argparse import Namespace
from pathlib import Path

from service.commands import CANNOT, DONE, Parsers

DEFAULT_OUTPUT = Path()


def add_parser(actions: Parsers) -> None:
    package = actions.add_parser("package", help="write the FHIR package (.tgz)")
    package.add_argument(
        "--output", type=Path, default=DEFAULT_OUTPUT, metavar="DIR", help="the folder; else here"
    )
    package.set_defaults(run=run)


def run(args: Namespace) -> int:
    from service.app_fhir import site_for
    from service.demo.scenario import NoScenario, here, read
    from service.fhir.definitions.examples import examples
    from service.fhir.definitions.package import file_name, package_of
    from service.rules.load import load_book
    from service.rules.reading import BadRuleBook
    from service.settings import from_environment

    settings = from_environment()
    try:
        site = site_for(settings, load_book(settings.rules_overlay))
        shown = examples(site, [sample.screen for sample in read(here())])
        target = args.output / file_name(site)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(package_of(site, shown))
    except (NoScenario, BadRuleBook, OSError) as fault:
        print(fault, file=sys.stderr)
        return CANNOT
    print(target)
    return DONE
