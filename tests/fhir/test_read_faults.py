"""Has every word for a fault of what comes in over FHIR its meaning, and is each one used?"""

import re
from pathlib import Path

from service.domain.problem import Fault, Refused
from service.fhir.outcome import outcome_of
from service.fhir.read_faults import FORM_FAULTS

SERVICE = Path(__file__).parents[2] / "service"
WRITTEN = re.compile(r'"((?:form|bundle)\.[a-z_]+|shape\.choice)"')
ISSUE_TYPES = {
    "structure", "value", "code-invalid", "extension", "not-supported", "business-rule",
    "conflict", "too-costly", "not-found", "required",
}  # fmt: skip


def test_every_word_that_is_said_is_explained_and_every_one_explained_is_said() -> None:
    modules = [*SERVICE.glob("fhir/read_*.py"), *SERVICE.glob("web/fhir/*.py")]
    said = {
        word
        for module in modules
        if module.name != "read_faults.py"
        for word in WRITTEN.findall(module.read_text(encoding="utf-8"))
    }
    assert said == set(FORM_FAULTS)


def test_the_page_for_senders_has_every_word() -> None:
    page = (SERVICE.parent / "docs" / "fhir-in.md").read_text(encoding="utf-8")
    assert [f"| `{word}` | {text} |" for word, text in FORM_FAULTS.items()] == [
        line for line in page.splitlines() if line.startswith(("| `form", "| `bundle", "| `shape"))
    ]


def test_every_word_has_an_issue_type() -> None:
    for word in FORM_FAULTS:
        (issue,) = outcome_of(Refused("x", (Fault("/a", word, "x"),))).issue
        assert issue.code in ISSUE_TYPES, word
