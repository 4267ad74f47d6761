"""Are the two commands of the README the ones that CI runs?"""

import re
import stat
from pathlib import Path

BLOCK = re.compile(r"^```sh\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)
TOUR = re.compile(r"^#+ .*\btour\b.*$", re.MULTILINE | re.IGNORECASE)


def faults(root: Path) -> list[str]:
    """Whatever a reader of the README would run and CI would not."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    script = root / ".ci" / "run"
    tour = TOUR.search(readme)
    if not tour:
        return ["README.md: has no heading with the tour"]
    blocks = [block["body"].strip() for block in BLOCK.finditer(readme[: tour.start()])]
    if len(blocks) != 2:
        return [f"README.md: {len(blocks)} commands stand before the tour, not two"]
    said = [f"README.md: not one line: {block}" for block in blocks if "\n" in block]
    ran = script.read_text(encoding="utf-8")
    said += [f".ci/run: does not run: {block}" for block in blocks if f"'{block}'" not in ran]
    if not script.stat().st_mode & stat.S_IXUSR:
        said.append(".ci/run: cannot be executed")
    if "set -euo pipefail" not in ran:
        said.append(".ci/run: goes on after a failure")
    return said
