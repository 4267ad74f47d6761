"""Do the parameters stand in their order and inside their bounds?"""

from collections.abc import Iterator, Mapping

from service.rules.files import Parameter
from service.rules.texts import written

Parameters = Mapping[str, Parameter]

# One helper lifts a leg of this share of the body with two hands: the three must fit together.
LEG_LIFT = ("one_helper_leg_lift_up_to_kg", "leg_mass_percent", "limb_two_hand_kg")
PERCENT = 100


def parameter_faults(parameters: Parameters) -> Iterator[str]:
    """Each parameter that leaves its bounds or its order, one line each."""
    for name, parameter in parameters.items():
        yield from (f"`{name}` {said}" for said in bound_faults(parameter))
        for other in parameter.not_above:
            if other not in parameters:
                yield f"`{name}` must not be above `{other}`, which is no parameter"
            elif parameter.value > parameters[other].value:
                yield (
                    f"`{name}` ({written(parameter)}) must not be above `{other}`"
                    f" ({written(parameters[other])})"
                )
    if all(name in parameters for name in LEG_LIFT):
        yield from _leg_lift(*(parameters[name] for name in LEG_LIFT))


def bound_faults(parameter: Parameter) -> Iterator[str]:
    """What is wrong with the value, against the parameter's own bounds."""
    lowest, highest = parameter.lowest, parameter.highest
    if lowest is not None and parameter.value < lowest:
        yield f"must not be below {lowest} {parameter.unit}"
    if highest is not None and parameter.value > highest:
        yield f"must not be above {highest} {parameter.unit}"


def _leg_lift(mass: Parameter, share: Parameter, hands: Parameter) -> Iterator[str]:
    if mass.value * share.value > hands.value * PERCENT:
        yield (
            f"`{LEG_LIFT[0]}` ({written(mass)}): a leg of {written(share)} % of it is more than"
            f" `{LEG_LIFT[-1]}` ({written(hands)})"
        )
