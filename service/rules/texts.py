"""Which numbers do the sentences of the rule files say, and how do they get there?

A sentence names a parameter in braces, `{stand_30_s} seconds`, so that it says what the rules
hold to even where a hospital set the number itself.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import ROUND_DOWN, Decimal
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict, replace

from service.rules.files import Parameter
from service.rules.reading import RuleFiles

NAMED = re.compile(r"\{([a-z0-9_]+)\}")
KILOGRAMS = re.compile(r"(\d+(?:\.\d+)?) kg\b(?! \()")
# Norm files stay as they are: a unit such as {stands} is written in braces too.
SPOKEN = ("methods", "moves", "conditions", "plan")


def filled(files: RuleFiles, parameters: Mapping[str, Parameter]) -> RuleFiles:
    """The files with every number in its sentence. A name that is no parameter stays in braces;
    ``unfilled`` names it."""
    values = {name: written(parameter) for name, parameter in parameters.items()}
    return replace(files, **{room: _put(getattr(files, room), values) for room in SPOKEN})


def unfilled(files: RuleFiles, parameters: Mapping[str, Parameter]) -> Iterator[str]:
    """Every name in braces that is no parameter."""
    for name in sorted(spoken(files) - set(parameters)):
        yield f"a sentence names `{{{name}}}`: no parameter is called so"


def spoken(files: RuleFiles) -> set[str]:
    """The parameters that stand in sentences."""
    return {name for room in SPOKEN for name in _names(getattr(files, room))}


def written(parameter: Parameter) -> str:
    """The value as it is said: no exponent, no zeros at the end."""
    return f"{parameter.value.normalize():f}"


def with_pounds(files: RuleFiles, kg_a_pound: Decimal) -> RuleFiles:
    """The files with whole pounds beside every mass that a sentence says. Pounds are cut off,
    never rounded up: an upper limit stays one, and who is heavy is so no later."""

    def said(found: re.Match[str]) -> str:
        pounds = (Decimal(found[1]) / kg_a_pound).to_integral_value(ROUND_DOWN)
        return f"{found[0]} ({pounds} lb)"

    return replace(
        files,
        **{
            room: _each(getattr(files, room), lambda text: KILOGRAMS.sub(said, text))
            for room in SPOKEN
        },
    )


def _put(content: Any, values: Mapping[str, str]) -> Any:
    return _each(
        content, lambda text: NAMED.sub(lambda found: values.get(found[1], found[0]), text)
    )


def _each(content: Any, change: Callable[[str], str]) -> Any:
    """``content`` with every text in it changed."""
    if type(content) is str:
        return change(content)
    if isinstance(content, tuple):
        return tuple(_each(each, change) for each in content)
    if isinstance(content, dict):
        return {name: _each(each, change) for name, each in content.items()}
    if isinstance(content, Struct):
        return replace(content, **{name: _each(v, change) for name, v in asdict(content).items()})
    return content


def _names(content: Any) -> Iterator[str]:
    if type(content) is str:
        yield from NAMED.findall(content)
    elif isinstance(content, tuple):
        for each in content:
            yield from _names(each)
    elif isinstance(content, dict):
        yield from _names(tuple(content.values()))
    elif isinstance(content, Struct):
        yield from _names(tuple(asdict(content).values()))
