"""Which numbers do the sentences of the rule files say, and how do they get there?

A sentence names a parameter in braces, `{stand_30_s} seconds`, so that it says what the rules
hold to even where a hospital set the number itself.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict, replace

from service.rules.files import Parameter
from service.rules.reading import RuleFiles

NAMED = re.compile(r"\{([a-z0-9_]+)\}")
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


def _put(content: Any, values: Mapping[str, str]) -> Any:
    if type(content) is str:
        return NAMED.sub(lambda found: values.get(found[1], found[0]), content)
    if isinstance(content, tuple):
        return tuple(_put(each, values) for each in content)
    if isinstance(content, dict):
        return {name: _put(each, values) for name, each in content.items()}
    if isinstance(content, Struct):
        return replace(content, **{name: _put(v, values) for name, v in asdict(content).items()})
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
