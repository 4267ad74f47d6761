"""Which rules must the fields of a screen meet together, and what is said when they do not?

The words are part of the interface: a fault carries one, and the API description lists all.
"""

from service.domain.problem import Fault

RULES: dict[str, str] = {
    "sense.age_once": "Give exactly one of birth_date and age_years.",
    "sense.adults_only": (
        "The person must be 18 or older when observed: the sources behind the rules are about"
        " adults."
    ),
    "sense.age_over_130": "The birth date makes the person older than 130 years when observed.",
    "sense.born_after_screen": "The birth date must not be after the day of observed_at.",
    "sense.observed_in_future": (
        "observed_at must not be more than 5 minutes ahead of the service's clock."
    ),
    "sense.before_1900": "The time must not be before 1900.",
    "sense.measured_after_observed": "A measurement must not be later than observed_at.",
    "sense.measured_without_value": "Give the value that was measured, or leave the time out.",
    "sense.injured_without_fall": (
        "injured_in_fall needs at least one fall in falls_last_12_months."
    ),
    "sense.pregnant_male": "pregnant and sex contradict each other.",
    "sense.identifier_repeated": "An identifier must be listed once.",
    "sense.percent_missing": "A PWB order needs percent, the share of body weight allowed.",
    "sense.percent_unexpected": "percent belongs to a PWB order only.",
    "sense.repeated": "An entry must be listed once.",
    "sense.prosthesis_without_amputation": (
        "A worn prosthesis needs the amputation of that limb among the precautions."
    ),
    "sense.diastolic_not_below_systolic": "Diastolic must be below systolic pressure.",
    "sense.mean_outside": "Mean arterial pressure must lie between diastolic and systolic.",
    "sense.help_missing": "An outcome achieved_with_help needs help.",
    "sense.help_unexpected": "help belongs to the outcome achieved_with_help only.",
    "sense.lift_unexpected": "lift_kg and lift_percent belong to help lifting only.",
    "sense.seconds_not_attempted": "A stage not attempted has no seconds.",
    "sense.hands_not_attempted": "A stage not attempted says nothing about hands.",
    "sense.stop_rule": (
        "The standing part ends at the first standing stage that is not achieved, and needs the"
        " rise: a later stage cannot have been achieved. Correct one of the two."
    ),
    "sense.stand_without_rise": (
        "A timed stand needs a rise that was achieved, with or without help."
    ),
    "sense.end_without_seconds": "ended_by needs the seconds the person stood.",
    "sense.sign_not_attempted": (
        "A sign other than refusal can only be seen at a stage that was attempted."
    ),
    "sense.stance_order": "A stance cannot be held when the easier one before it was not.",
    "sense.control_character": (
        "Text must not hold control characters, nor those that turn the direction of writing."
    ),
    "sense.outer_space": "Text must not begin or end with white space.",
}


def fault(path: str, rule: str) -> Fault:
    """The fault of ``rule`` at ``path``, in its one wording."""
    return Fault(path, rule, RULES[rule])
