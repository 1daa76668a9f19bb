"""What an action says when it will not do what was asked. The text is for the person who asked."""


class Refused(Exception):
    """A rule of the office stands in the way; nothing was changed.

    `field` names the form field that the message belongs beside, when there is one.
    """

    def __init__(self, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.message, self.field = message, field


class WrongState(Refused):
    """The thing is not, or no longer, in a state that allows this."""


class AlreadyDone(Refused):
    """The same form was sent a second time; the first one counted."""
