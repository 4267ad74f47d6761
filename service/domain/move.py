"""Which moves does a plan answer for?"""

from enum import StrEnum


class Move(StrEnum):
    BED_TO_CHAIR = "bed_to_chair"
    CHAIR_TO_BED = "chair_to_bed"
    CHAIR_TO_CHAIR = "chair_to_chair"
    CHAIR_TO_TOILET = "chair_to_toilet"
    TOILET_TO_CHAIR = "toilet_to_chair"
    CHAIR_TO_CAR = "chair_to_car"
    CAR_TO_CHAIR = "car_to_chair"
    BED_TO_STRETCHER = "bed_to_stretcher"
    CHAIR_TO_STRETCHER = "chair_to_stretcher"
    REPOSITION_IN_BED = "reposition_in_bed"
    TURN_IN_BED = "turn_in_bed"
    REPOSITION_IN_CHAIR = "reposition_in_chair"
    UP_FROM_FLOOR = "up_from_floor"
    WALK = "walk"
    STAND_FOR_CARE = "stand_for_care"
    STAND_EXERCISE = "stand_exercise"
