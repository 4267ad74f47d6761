"""Which faults can a rule file have?"""

from tests.rules.rule_files import Edit, added, instead, line, on_top

METHOD, MOVE = "methods/stand_aid.toml", "moves/walk.toml"
CITED = 'source = "common_practice"\nstanding = "practice"'
REASON = f'why = "Because"\n{CITED}'
SENTENCE = f'id = "%s"\ntext = "Said twice."\n{CITED}'

# what is broken: the file, the edit, how the fault begins, and what it says
BROKEN: dict[str, tuple[str, Edit, str, str]] = {
    "an unknown key": (METHOD, on_top("colour = 1"), METHOD, "unknown field `colour`"),
    "an unknown key in a table": (
        METHOD,
        instead('need = "arms"', 'need = "arms"\nwants = 1'),
        METHOD,
        "`wants`",
    ),
    "an unknown axis": (METHOD, instead('need = "arms"', 'need = "legs"'), METHOD, "'legs'"),
    "an unknown grade": (
        METHOD,
        instead('at_least = "both"', 'at_least = "three"'),
        "methods/stand_aid",
        "`arms` has no grade `three`",
    ),
    "an unknown condition": (
        METHOD,
        instead('absent = "arm_order"', 'absent = "moonlight"'),
        METHOD,
        "'moonlight'",
    ),
    "an unknown number": (
        METHOD,
        instead('number = "standing_time_s"', 'number = "shoe_size"'),
        METHOD,
        "'shoe_size'",
    ),
    "an unknown parameter": (
        METHOD,
        instead('"stand_5_s"', '"stand_7_s"'),
        "methods/stand_aid",
        "no parameter is called `stand_7_s`",
    ),
    "an unknown standing": (
        METHOD,
        instead('standing = "published"', 'standing = "certain"'),
        METHOD,
        "'certain'",
    ),
    "an unknown source": (
        METHOD,
        instead('source = "common_practice"', 'source = "hearsay"'),
        "methods/stand_aid",
        "no source is called `hearsay`",
    ),
    "an unknown source of a parameter": (
        "parameters/mass.toml",
        instead('source = "osha_3182"', 'source = "hearsay"'),
        "parameters/mass",
        "no source is called `hearsay`",
    ),
    "an unknown source in the plan": (
        "plan.toml",
        instead('source = "', 'source = "x_'),
        "plan.toml",
        "no source is called `x_",
    ),
    "a missing citation": (
        "axes/lean.toml",
        line("source = "),
        "axes/lean.toml",
        "missing required field `source`",
    ),
    "a device class that is not there": (
        METHOD,
        instead('device_class = "stand_aid"', 'device_class = "trolley"'),
        "methods/stand_aid",
        "no device class is called `trolley`",
    ),
    "an accessory that is not there": (
        METHOD,
        instead('accessory = "calf_strap"', 'accessory = "ribbon"'),
        "methods/stand_aid",
        "no accessory is called `ribbon`",
    ),
    "a move that is not there": (
        METHOD,
        instead('moves = ["walk"]', 'moves = ["dance"]'),
        METHOD,
        "'dance'",
    ),
    "a method that is not there": (
        MOVE,
        instead('"standby",', '"standby", "carried",'),
        "moves/walk",
        "no method to choose is called `carried`",
    ),
    "the last resort as a choice": (
        MOVE,
        instead('"standby",', '"standby", "do_not_move",'),
        "moves/walk",
        "no method to choose is called `do_not_move`",
    ),
    "a table for a method that does not serve the move": (
        MOVE,
        added(f'[[requires]]\nmethods = ["slide_sheet"]\nabsent = "stoma"\n{REASON}'),
        "moves/walk",
        "a table names a method that does not serve the move",
    ),
    "helpers told neither way": (
        MOVE,
        added(f"[[more_helpers]]\n{REASON}"),
        "moves/walk",
        "exactly one of: at_least, add",
    ),
    "helpers told both ways": (
        MOVE,
        added(f"[[more_helpers]]\nadd = 1\nat_least = 2\n{REASON}"),
        "moves/walk",
        "exactly one of: at_least, add",
    ),
    "two cautions of a method with one id": (
        METHOD,
        added(f"[[cautions]]\n{SENTENCE % 'same'}\n[[cautions]]\n{SENTENCE % 'same'}"),
        "methods/stand_aid",
        "two sentences have one id",
    ),
    "two notices with one id": (
        "plan.toml",
        added(f"[[notices]]\n{SENTENCE % 'come_first'}"),
        "plan.toml",
        "two sentences have one id",
    ),
    "two goals with one id": (
        "plan.toml",
        instead('id = "heel_raise"', 'id = "foot_lift"'),
        "plan.toml",
        "two goals have one id",
    ),
    "two exercises with one id": (
        "plan.toml",
        instead('id = "rise_lower_seat"', 'id = "rise_from_high_seat"'),
        "plan.toml",
        "two exercises have one id",
    ),
    "a stage that is not there": (
        "plan.toml",
        instead('stage = "heel_raise"', 'stage = "handstand"'),
        "plan.toml",
        "no stage is called `handstand`",
    ),
    "a goal with no such target": (
        "plan.toml",
        instead('target = "stand_5_s"', 'target = "stand_7_s"'),
        "plan.toml goals/stand_5_s",
        "no parameter is called `stand_7_s`",
    ),
    "an exercise with no such height": (
        "plan.toml",
        instead('= "seat_start_high_percent"', '= "very_high"'),
        "plan.toml exercises/",
        "no parameter is called `very_high`",
    ),
    "a limit finer than a tenth": (
        "parameters/mass.toml",
        instead('value = "77"', 'value = "77.25"'),
        "moves/reposition_in_bed",
        "`air_preferred_from_kg` is finer than a tenth",
    ),
    "a parameter in two files": (
        "parameters/exercise.toml",
        added(f'[stand_5_s]\nvalue = "5"\nunit = "s"\nwhat = "Again"\n{CITED}'),
        "parameters/",
        "`stand_5_s` stands in another file too",
    ),
    "a parameter that only a module reads, gone": (
        "parameters/capability.toml",
        instead("[margin_percent]", "[margin_of_ours]"),
        "parameters/",
        "no parameter is called `margin_percent`",
    ),
    "grades that are not those of the axis": (
        "axes/lean.toml",
        instead("helped = ", "helpful = "),
        "axes/lean",
        "its grades must be unknown, none, helped, able, in this order",
    ),
    "what is no TOML": ("moves/walk.toml", added("[[requires"), "moves/walk.toml", "Expected ']]'"),
    "an example of a grade that is not there": (
        METHOD,
        instead('[examples.grades]\nclearance = "clear"', '[examples.grades]\nclearance = "sure"'),
        "methods/stand_aid",
        "`clearance` has no grade `sure`",
    ),
    "an example of a method that is not there": (
        METHOD,
        instead('method = "stand_aid"', 'method = "carried"'),
        "methods/stand_aid",
        "no method is called `carried`",
    ),
    "an example with a device that is not there": (
        "methods/lateral_board.toml",
        instead('devices = ["lateral_board"]', 'devices = ["trolley"]'),
        "methods/lateral_board",
        "no device class is called `trolley`",
    ),
}
