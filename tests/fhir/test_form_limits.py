"""Are the limits of an answer those of the screen's field?"""

from decimal import Decimal

from service.fhir.form import FormItem
from service.fhir.form_limits import Limits
from tests.fhir.answers import SITE


def items(form: tuple[FormItem, ...]) -> list[FormItem]:
    return [one for item in form for one in (item, *items(item.parts))]


LIMITS = {item.link: item.limits for item in items(SITE.form)}


def test_a_decimal_has_the_bounds_that_stand_beside_it() -> None:
    assert LIMITS["patient.mass_kg"] == Limits(low=Decimal(20), high=Decimal(500))
    assert LIMITS["tests.gait_speed.seconds"].low == Decimal("0.1")


def test_a_whole_number_has_the_bounds_of_its_type() -> None:
    assert LIMITS["readiness.rass"] == Limits(low=-5, high=4)
    assert LIMITS["stages.knee_extension.left.mrc_grade"] == Limits(low=0, high=5)


def test_required_is_what_a_screen_is_refused_without() -> None:
    required = {link for link, limits in LIMITS.items() if limits.required}
    assert {"patient", "observed_at", "orders", "readiness", "stages"} <= required
    assert "orders.precautions" in required
    assert "patient.birth_date" not in required


def test_what_must_be_sent_and_may_be_null_is_not_required() -> None:
    assert not LIMITS["tests.sppb.tandem_s"].required


def test_texts_and_lists_have_their_length() -> None:
    assert LIMITS["location"].longest == 200
    assert LIMITS["signs"].most == 72
    assert LIMITS["context.devices"].most == 100


def test_a_default_stands_where_nothing_is_answered() -> None:
    assert LIMITS["setting"].initial == "acute"
    assert LIMITS["readiness.anaesthetised"].initial is False
    assert LIMITS["stages.rise.outcome"].initial == "not_attempted"
    assert LIMITS["context.devices"].initial == "any"
    assert LIMITS["patient.pregnant"].initial is None
