"""Bad input, as one sentence that says which field, what was given and what would do."""

from __future__ import annotations

MISSING = ""


class BadInput(ValueError):  # noqa: N818 - named for what it tells the user
    """Something the user gave cannot be used.

    Attributes:
        field: where it stands, as the user would name it (``ramp.length``).
        given: what was given, shortened.
        wanted: what would do.
        source: the file or form it came from, if known.
    """

    def __init__(self, field: str, given: object, wanted: str, source: str = "") -> None:
        self.field = field
        self.given = shorten(given)
        self.wanted = wanted
        self.source = source
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """The one line a user sees.

        >>> BadInput("ramp.length", "34 furlongs", "a length such as 34 1/2 in").sentence()
        "ramp.length: '34 furlongs' will not do; give a length such as 34 1/2 in"
        """
        where = f"{self.source}: " if self.source else ""
        if self.given == MISSING:
            return printable(f"{where}{self.field}: nothing given; give {self.wanted}")
        return printable(f"{where}{self.field}: {self.given!r} will not do; give {self.wanted}")

    def at(self, source: str) -> BadInput:
        """The same error, told with the file it came from."""
        return type(self)(self.field, self.given, self.wanted, source)


def printable(text: str) -> str:
    """The text with ``?`` for what a terminal would obey instead of show.

    >>> printable("van\\x1b[2J.json")
    'van?[2J.json'
    """
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def shorten(given: object, most: int = 60) -> str:
    """What was given on one line of at most ``most`` characters.

    >>> shorten("a" * 80)[-4:]
    'aaa…'
    """
    try:
        text = " ".join(str(given).split())
    except ValueError:
        # Python does not print a whole number of more than some 4,000 digits.
        text = "a number of thousands of digits"
    except RecursionError:
        text = "entries nested too deep"
    return text if len(text) <= most else text[: most - 1] + "…"
