"""What goes wrong, as exceptions: each is a BracewrightError, and the built-in it resembles."""

__all__ = ["BracewrightError", "FitError", "InvalidInputError", "ReadingsError"]


class BracewrightError(Exception):
    """Any error of this package."""


class InvalidInputError(BracewrightError, ValueError):
    """An argument is out of range, of the wrong length, or makes no sense; the message says what is allowed.

    Where something on a top is wrong at one place of it, x_mm and y_mm say where; they are None otherwise.
    """

    x_mm: float | None = None
    y_mm: float | None = None


class ReadingsError(BracewrightError, ValueError):
    """A file, or a line of it, cannot be read, or is of another schema or a newer version."""


class FitError(BracewrightError):
    """The readings hold no information about what was asked; the message says what would help."""
