"""What the costing core refuses, in words a person can act on.

Each error names the field it belongs to, the value that was given and what would be right, so that a
form can show ``str(error)`` at ``error.field`` and a program can read the parts.
"""

from __future__ import annotations

from decimal import Decimal


def in_words(value: object) -> str:
    """A value as it stands in a sentence: numbers without noise, text in quotes.

    >>> in_words(50000.0), in_words("abc"), in_words(None)
    ('50000', '“abc”', 'nothing')
    """
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, int | Decimal):
        number = Decimal(value)
        # Written out as long as a person would; a number of thousands of digits is not.
        return f"{number:f}" if abs(number.adjusted()) < 20 else f"{number:.3e}"
    return f"“{value}”"


class CostingError(ValueError):
    """Input that the costing model cannot use.

    field: name of the attribute it belongs to; value: what was given; right: what to give instead;
    words: the field's name for people.
    """

    def __init__(self, *, field: str, value: object, right: str, words: str = "") -> None:
        super().__init__(field, value, right)
        self.field = field
        self.value = value
        self.right = right
        self.words = words or field.replace("_", " ")

    @property
    def problem(self) -> str:
        """What is wrong, as the middle of the sentence."""
        return "cannot be used"

    def __str__(self) -> str:
        return f"{self.words[:1].upper()}{self.words[1:]} {self.problem}: {self.right}."


class NotANumberError(CostingError):
    """Text, nothing, NaN or infinity where a number is needed."""

    @property
    def problem(self) -> str:
        return f"must be a number, and {in_words(self.value)} is not one"


class NotWholeError(CostingError):
    """A count that is not a whole number."""

    @property
    def problem(self) -> str:
        return f"must be a whole number, not {in_words(self.value)}"


class OutOfRangeError(CostingError):
    """A number below or above what makes sense."""

    def __init__(self, *, field: str, value: object, right: str, words: str = "", unit: str = "") -> None:
        super().__init__(field=field, value=value, right=right, words=words)
        self.unit = unit

    @property
    def problem(self) -> str:
        return f"is {in_words(self.value)} {self.unit}".rstrip()


class ContradictionError(CostingError):
    """Two inputs that cannot both be true."""

    def __init__(self, *, field: str, value: object, right: str, because: str, words: str = "") -> None:
        super().__init__(field=field, value=value, right=right, words=words)
        self.because = because

    @property
    def problem(self) -> str:
        return self.because


class CupTooSmallError(ContradictionError):
    """A cup that holds no more than what stays in it (C <= r_f): nothing could be sprayed."""


class EmptyMixError(ContradictionError):
    """A coat without anything to mix."""


class MissingFactError(CostingError):
    """A figure that this reckoning needs and that nobody entered.

    about: the material or labour class it is missing for.
    """

    def __init__(self, *, field: str, right: str, about: str, words: str = "") -> None:
        super().__init__(field=field, value=None, right=right, words=words)
        self.about = about

    @property
    def problem(self) -> str:
        return f"of “{self.about}” is not known"


class WrongUseError(CostingError):
    """A material put where it cannot be used, such as a hardener in a supply line."""

    def __init__(self, *, field: str, right: str, about: str, because: str, words: str = "") -> None:
        super().__init__(field=field, value=about, right=right, words=words)
        self.about = about
        self.because = because

    @property
    def problem(self) -> str:
        return f"“{self.about}” {self.because}"
