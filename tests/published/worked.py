"""What does the service answer to a worked example of a method file?"""

from decimal import Decimal

from service.domain.axis import UNKNOWN, Axis, Number
from service.domain.context import Context, DeviceAtHand
from service.domain.profile import AxisGrade, NumberSeen, Profile
from service.rules.book import RuleBook
from service.rules.evaluate import Judge
from service.rules.files import ExampleTable
from service.rules.means import helper_count
from service.rules.select import select

CARRIES_ANYBODY = Decimal(1000)


def answered(book: RuleBook, example: ExampleTable) -> tuple[str, int | None]:
    """The method and the helpers. What the example does not say is not known."""
    profile = Profile(
        {axis: AxisGrade(example.grades.get(axis, UNKNOWN)) for axis in Axis},
        {number: NumberSeen(example.numbers.get(number)) for number in Number},
        dict.fromkeys(example.conditions, ()),
    )
    context = Context()
    if example.devices is not None:
        context = Context(
            devices=[
                DeviceAtHand(device_class=each, safe_working_load_kg=CARRIES_ANYBODY)
                for each in example.devices
            ]
        )
    judge = Judge(profile)
    option = select(book, book.moves[example.move], judge, context).option
    return option.method.id, helper_count(option, judge)[0]


def wrong_examples(book: RuleBook) -> list[str]:
    """Each worked example that is not answered as it says."""
    return [
        example.says
        for method in book.methods.values()
        for example in method.examples
        if answered(book, example) != (example.method, example.helpers)
    ]
