"""What can be wrong with a request that is the concern of HTTP alone?"""

from service.domain.problem import Problem


class BadRequest(Problem):
    """A header or a parameter that cannot be understood."""


class NotAcceptable(Problem):
    """None of the forms that Accept names can be given."""


class Unsupported(Problem):
    """The body comes in a form that is not read here."""


class TooSlow(Problem):
    """The body did not arrive in time."""
