"""How is the OpenAPI document written, and is the written one current?"""

import json
import sys
from argparse import Namespace
from pathlib import Path

import service
from service.commands import CHECK_FAILED, DONE, Parsers

WRITTEN = Path(service.__file__).parent.parent / "openapi" / "openapi.json"


def add(parsers: Parsers) -> None:
    parser = parsers.add_parser("openapi", help="write the OpenAPI document")
    parser.add_argument("--file", type=Path, default=WRITTEN, help="where it is written")
    parser.add_argument("--check", action="store_true", help="only say whether it is current")
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    if args.check:
        if is_current(args.file):
            return DONE
        print(f"{args.file} is not current: run `stanchion openapi`.", file=sys.stderr)
        return CHECK_FAILED
    args.file.parent.mkdir(parents=True, exist_ok=True)
    args.file.write_text(text(), encoding="utf-8")
    print(f"{args.file} is written.")
    return DONE


def is_current(path: Path = WRITTEN) -> bool:
    return path.is_file() and path.read_text(encoding="utf-8") == text()


def text() -> str:
    """The document as it is kept: readable, so that a change of it can be reviewed."""
    from service.web.document import document

    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"
