"""The doors where numbers come in: what is asked of a value, and the sentence when it is not so."""

from __future__ import annotations

import math

LONGEST = 400
"""Letters of a sentence; what is longer is cut in its middle, for beginning and end say what is wrong."""


class BadValue(ValueError):
    """A value that cannot be used; its text is one sentence with the field, the value and what is wanted."""

    def __init__(self, said: str) -> None:
        super().__init__(one_line(said))


def one_line(said: str) -> str:
    """Return a sentence as it may be shown: nothing in it breaks the line, steers a terminal or floods it.

    What it quotes was written by somebody else: a name out of a file, a line of a table.
    """
    plain = "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in said)
    return plain if len(plain) <= LONGEST else f"{plain[: LONGEST // 2]} ... {plain[-LONGEST // 2 :]}"


def number(
    field: str,
    value: object,
    *,
    wanted: str,
    above: float | None = None,
    least: float | None = None,
    most: float | None = None,
) -> float:
    """Return `value` as a float if it is a finite number within its limits.

    Parameters
    ----------
    field : str
        Name of the value, as the person who gave it knows it.
    value : object
        What was given.
    wanted : str
        What is wanted, with unit, said to a caster: "the litre weight in g, 1000 to 2500".
    above : float, optional
        The value must be greater than this.
    least, most : float, optional
        The value must lie within these, ends included.

    Returns
    -------
    float

    Raises
    ------
    BadValue
        Not a number, NaN, infinite or outside the limits.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadValue(f"{field} is {value!r}; give {wanted}")
    try:
        given = float(value)
    except OverflowError:  # TOML's whole numbers have no end
        given = math.inf
    if (
        not math.isfinite(given)
        or (above is not None and not given > above)
        or (least is not None and given < least)
        or (most is not None and given > most)
    ):
        raise BadValue(f"{field} is {given:g}; give {wanted}")
    return given
