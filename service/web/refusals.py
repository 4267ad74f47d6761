"""What can be wrong with a request that is the concern of HTTP alone?"""

from service.domain.problem import NotFound, Problem


class BadRequest(Problem):
    """A header or a parameter that cannot be understood."""


class IdsGivenHere(NotFound):
    """An update of what is not there: it would be made under an id that the sender chose."""


class NotAcceptable(Problem):
    """None of the forms that Accept names can be given."""


class Unsupported(Problem):
    """The body comes in a form that is not read here."""


class TooSlow(Problem):
    """The body did not arrive in time."""


class TooLarge(Problem):
    """The body is over its limit."""


class UrlTooLong(Problem):
    """The address is over its limit."""


class HeadTooLong(Problem):
    """The headers are over their limit."""


class TookTooLong(Problem):
    """The answer was not ready in time; what became of the request is not known."""


class TooMany(Problem):
    """``retry_after_s``: when the credential may ask again, seconds."""

    def __init__(self, detail: str, retry_after_s: int) -> None:
        super().__init__(detail)
        self.retry_after_s = retry_after_s
