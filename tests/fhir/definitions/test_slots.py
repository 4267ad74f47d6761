"""Do the words for a promise say it as FHIR does?"""

from service.fhir.definitions.slots import always, bound, invariant, never, path_of, slot
from tests.fhir.answers import SITE


def test_a_path_names_no_slices() -> None:
    assert path_of("Extension.extension:code.value[x]") == "Extension.extension.value[x]"


def test_what_is_always_sent_is_needed_and_must_be_supported() -> None:
    one = always("Flag.period", "Since when.", "Period")
    assert (one.min, one.max, one.must_support) == (1, None, True)
    assert [kind.code for kind in one.type] == ["Period"]


def test_what_is_never_sent_is_not_allowed_and_says_why() -> None:
    one = never("CarePlan.activity.reference", "A request would look like an order.")
    assert (one.min, one.max) == (None, "0")
    assert one.definition == "A request would look like an order."


def test_what_is_not_said_is_left_to_the_standard() -> None:
    one = slot("Flag.author", "Who.")
    assert (one.min, one.max, one.type, one.binding, one.must_support) == (
        None, None, (), None, None,
    )  # fmt: skip


def test_bindings_and_invariants_name_what_is_ours() -> None:
    assert bound(SITE, "method").value_set == f"{SITE.canonical}/ValueSet/method"
    assert bound(SITE, "goal", "preferred").strength == "preferred"
    rule = invariant(SITE, "stn-a-1", "A.", "true", "flag")
    assert (rule.severity, rule.source) == ("error", SITE.profile("flag"))
