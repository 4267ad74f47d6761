"""What should the record say of a person's plans, told without a single event?

It holds screens, the choices that stand, what was left to each plan, and when the person was told
to have fallen. Times are whole minutes.
"""

from msgspec import Struct

from service.application.ports import NewScreen
from service.domain.move import Move
from service.domain.plan import PlanState

COMPUTED = "stand_aid"
LIFE_MIN = 24 * 60
Left = tuple[str, str, str]
"""Move, method and reason of a choice for a plan before."""


class Sheet(Struct):
    """A plan. ``choices``: the last for each move, method and reason; ``answered``: the reasons of
    all that were."""

    id: str
    screen: str
    observed: int
    choices: dict[Move, tuple[str, str]] = {}
    answered: list[str] = []
    left: list[Left] = []
    ended: bool = False
    gone: bool = False

    @property
    def rank(self) -> tuple[int, str]:
        return self.observed, self.screen

    def leaves(self) -> list[Left]:
        chosen = self.choices.items()
        return [(move.value, *said) for move, said in chosen if said[0] != COMPUTED]

    def leaves_anew(self) -> list[Left]:
        """To a plan of the same screen."""
        decided = {move.value for move in self.choices}
        return [*self.leaves(), *[one for one in self.left if one[0] not in decided]]


class Person(Struct):
    """Everybody who was found to be this one. ``of``: the newest plan of each screen that was not
    withdrawn."""

    values: set[str]
    of: dict[str, Sheet] = {}
    screens: list[NewScreen] = []
    versions: dict[str, int] = {}
    stands: Sheet | None = None
    fell: int | None = None

    def kept(self, new: NewScreen, sheet: Sheet, minute: int) -> None:
        self.screens.append(new)
        self.of[sheet.screen], self.versions[sheet.screen] = sheet, 1
        before = self.stands
        if before is None or before.rank < sheet.rank:
            self._take(sheet, before.leaves() if before else [], minute)

    def corrected(self, sheet: Sheet, minute: int) -> None:
        before = self.stands
        chosen = before.leaves() if before else []
        sheet.left = self.of[sheet.screen].leaves_anew()
        self.of[sheet.screen] = sheet
        self.versions[sheet.screen] += 1
        leading = self._leading()
        if leading is sheet:
            self._take(sheet, [one for one in chosen if one not in sheet.left], minute)
        elif leading is not before:
            self._take(leading, chosen, minute)

    def withdrawn(self, screen: str, minute: int) -> None:
        sheet = self.of.pop(screen)
        self.versions[screen] += 1
        sheet.gone = True
        if self.stands is sheet:
            self._take(self._leading(), sheet.leaves(), minute)

    def joined(self, other: "Person", minute: int) -> "Person":
        first, last = sorted(
            (self, other), key=lambda one: (one.stands is not None, one.stands and one.stands.rank)
        )
        made = Person(
            self.values | other.values,
            self.of | other.of,
            self.screens + other.screens,
            self.versions | other.versions,
            fell=max((fell for fell in (self.fell, other.fell) if fell is not None), default=None),
        )
        made._take(last.stands, first.stands.leaves() if first.stands else [], minute)
        return made

    def state(self, sheet: Sheet, minute: int) -> PlanState:
        if sheet.gone:
            return PlanState.WITHDRAWN
        if self.stands is not sheet:
            return PlanState.SUPERSEDED
        over = sheet.ended or minute >= sheet.observed + LIFE_MIN
        return PlanState.LAPSED if over else PlanState.CURRENT

    def _take(self, sheet: Sheet | None, left: list[Left], minute: int) -> None:
        """``sheet`` comes to stand; it is told what was chosen, and whether the person fell since
        it was made."""
        self.stands = sheet
        if sheet is None:
            return
        sheet.left += left
        open_still = sheet.observed + LIFE_MIN > minute
        if self.fell is not None and sheet.observed <= self.fell and open_still:
            sheet.ended = True

    def _leading(self) -> Sheet | None:
        return max(self.of.values(), key=lambda one: one.rank, default=None)
