"""In which units are sentences said to people? Data always carry SI units, named in the field."""

from enum import StrEnum


class Units(StrEnum):
    """si: kilograms. us: kilograms, and pounds beside them."""

    SI = "si"
    US = "us"
