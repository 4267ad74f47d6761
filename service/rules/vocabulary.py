"""Do the rule files, the closed vocabulary and the code name the same things?"""

from collections.abc import Iterable, Iterator
from itertools import chain

from service.domain.axis import GRADES, Axis, Number
from service.domain.condition import Condition
from service.domain.context import Setting
from service.domain.measured_tests import MeasuredTests
from service.domain.move import Move
from service.domain.stages import Stage
from service.rules.build import LAST_RESORT
from service.rules.files import ExampleTable
from service.rules.reading import RuleFiles, uncited

# Parameters that no rule file need name, because modules read them. One that is missing would
# otherwise be missed by the first screen that needs it.
READ_IN_CODE = (
    "fio2_review_above",
    "heart_rate_review_above",
    "heart_rate_review_below",
    "heart_rate_withhold_above",
    "heavy_from_kg",
    "leg_mass_percent",
    "kg_a_pound",
    "margin_percent",
    "mean_arterial_withhold_below",
    "nothing_lifted_kg",
    "odd_age_from",
    "odd_mass_above_kg",
    "odd_mass_below_kg",
    "orthostatic_diastolic_drop",
    "orthostatic_diastolic_drop_from_sitting",
    "orthostatic_systolic_drop",
    "orthostatic_systolic_drop_from_sitting",
    "pounds_bmi_above",
    "pounds_bmi_from",
    "pounds_bmi_to",
    "rass_calm_high",
    "rass_calm_low",
    "rass_flat_only_to",
    "rass_review_high",
    "rass_review_low",
    "rass_withhold_from",
    "respiratory_rate_review_above",
    "sitting_hold_s",
    "spo2_withhold_below",
    "stand_5_s",
    "stand_60_s",
    "systolic_withhold_above",
    "systolic_withhold_below",
    "temperature_review_from",
    "very_heavy_above_kg",
    "very_heavy_bmi_above",
    "vital_signs_expected_acute",
    *(f"{setting}_{kind}_h" for setting in Setting for kind in ("assisted", "unassisted")),
)

# Fields that are no stage and whose answer can open a method: each needs its question.
ASKED_FOR = (
    "rass",
    "instructions",
    "cooperation",
    "vital_signs",
    "mass_kg",
    "stature_cm",
    "falls_last_12_months",
    "reclines",
    "lowers_to_seat_height",
    "injury",
    "gets_up_alone",
)


def word_faults(files: RuleFiles) -> Iterator[str]:
    """Every word that stands in one place and not in the other, the file first."""
    return chain(_closed_words(files), uncited(files), _unknown_words(files))


def _closed_words(files: RuleFiles) -> Iterator[str]:
    """Words of the closed vocabulary without a file, files without a word, grades that differ."""
    words: tuple[tuple[str, Iterable[str], Iterable[str]], ...] = (
        ("axes", Axis, files.axes),
        ("conditions", Condition, files.conditions),
        ("stages", Stage, files.stages),
        ("moves", Move, files.moves),
        ("test_norms", (*MeasuredTests.__struct_fields__, Stage.TIMED_STAND), files.test_norms),
    )
    for folder, known, found in words:
        for word in sorted(set(known) ^ set(found)):
            yield f"{folder}/{word}: the file and the word must both exist"
    for name, axis in files.axes.items():
        if name in set(Axis) and tuple(axis.grades) != GRADES[Axis(name)]:
            yield f"axes/{name}: its grades must be {', '.join(GRADES[Axis(name)])}, in this order"
    for number in sorted(set(Number) ^ set(files.plan.numbers)):
        yield f"plan.toml numbers: `{number}` needs plain words"
    for ask in sorted(set(ASKED_FOR) ^ set(files.plan.asks)):
        yield f"plan.toml asks: `{ask}` needs a question, and nothing else does"
    if LAST_RESORT not in files.methods:
        yield f"methods/{LAST_RESORT}: the last resort is missing"


def _unknown_words(files: RuleFiles) -> Iterator[str]:
    """Device classes, accessories, stages and methods that are named and do not exist."""
    for name, method in files.methods.items():
        place = f"methods/{name}"
        if method.device_class not in (None, *files.device_classes):
            yield f"{place}: no device class is called `{method.device_class}`"
        for accessory in method.accessories:
            if accessory.accessory not in files.accessories:
                yield f"{place}: no accessory is called `{accessory.accessory}`"
        for example in method.examples:
            yield from (f"{place}: {fault}" for fault in _unknown_in(example, files))
    for goal in files.plan.goals:
        if goal.stage not in (None, *Stage):
            yield f"plan.toml: no stage is called `{goal.stage}`"
    for what, ids in (
        ("goals", [goal.id for goal in files.plan.goals]),
        ("exercises", [exercise.id for exercise in files.plan.exercises]),
    ):
        if len(ids) != len(set(ids)):
            yield f"plan.toml: two {what} have one id"


def _unknown_in(example: ExampleTable, files: RuleFiles) -> Iterator[str]:
    if example.method not in files.methods:
        yield f"no method is called `{example.method}`"
    for axis, grade in example.grades.items():
        if grade not in GRADES[axis]:
            yield f"`{axis}` has no grade `{grade}`"
    for device in example.devices or ():
        if device not in files.device_classes:
            yield f"no device class is called `{device}`"
