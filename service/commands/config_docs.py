"""How does the list of settings in the documents stay the list that the service reads?"""

from argparse import Namespace
from pathlib import Path
from typing import Any

from service.commands import CHECK_FAILED, DONE, Parsers
from service.settings import Settings
from service.settings_sources import FILE, PREFIX, known

PAGE = Path("docs/operations.md")
BEGIN = "<!-- settings: written by `stanchion config docs` -->\n"
END = "<!-- end of settings -->\n"


def add_parser(actions: Parsers) -> None:
    parser = actions.add_parser("docs", help="write the list of settings into docs/operations.md")
    parser.add_argument("--check", action="store_true", help="only say whether it is up to date")
    parser.set_defaults(run=_run)


def _run(args: Namespace) -> int:
    text = PAGE.read_text(encoding="utf-8")
    if text == written(text):
        return DONE
    if args.check:
        print(f"{PAGE}: run stanchion config docs")
        return CHECK_FAILED
    PAGE.write_text(written(text), encoding="utf-8")
    print(f"{PAGE} is written.")
    return DONE


def written(text: str) -> str:
    """The page with the list as it is today. Raises ValueError where it has no place for it."""
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"{PAGE} has no place for the list of settings.")
    return f"{before}{BEGIN}\n{table()}\n{END}{after}"


def table() -> str:
    """Every setting with its default and what it is for, in order."""
    rows = ["| setting | default | what it is |", "|---|---|---|"]
    defaults = Settings()
    for name, one in known(Settings).items():
        said = one.text + (f" Or `…{FILE}`, a file that holds it." if one.secret else "")
        said = said.replace("|", "\\|")
        rows.append(f"| `{PREFIX}{name.upper()}` | {_default(getattr(defaults, name))} | {said} |")
    return "\n".join(rows) + "\n"


def _default(value: Any) -> str:
    if value is None or value == ():
        return "none"
    return f"`{value}`"
