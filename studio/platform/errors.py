"""The few ways in which the house says no. API and pages translate them; services and queries raise them."""

from collections.abc import Mapping


class Refused(Exception):
    """Something given can't be used. ``reasons`` maps a field's name to one clear sentence ("" for the whole)."""

    def __init__(self, reasons: Mapping[str, str] | str) -> None:
        self.reasons: dict[str, str] = {"": reasons} if isinstance(reasons, str) else dict(reasons)
        super().__init__(" ".join(self.reasons.values()))


class NotHere(Exception):
    """There is no such thing in this studio; somebody else's looks the same as nobody's."""

    def __init__(self, noun: str = "page") -> None:
        super().__init__(f"There is no such {noun} here.")


class NotAllowed(Exception):
    """The member's role does not include this."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)


class Stale(Exception):
    """Somebody else changed it in the meantime."""

    def __init__(self, noun: str = "record") -> None:
        super().__init__(
            f"This {noun} was changed by somebody else in the meantime. Look at it again, then repeat."
        )


class Conflict(Exception):
    """It can't be done in the state that things are in; the message says what would have to come first."""


class StorageFailed(Exception):
    """The file storage does not answer, or is full; nothing was kept, and it can be tried again."""

    def __init__(self) -> None:
        super().__init__(
            "The file storage does not answer, or is full. Nothing was saved; try again in a little while."
        )


class JobFailed(Exception):
    """Long work can't succeed however often it is repeated; the sentence is shown to the one who asked."""
