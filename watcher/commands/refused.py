"""What a command says when it cannot use what it was given."""


class Refused(ValueError):
    """Bad input or settings: one sentence with what was found and what is wanted; the exit status is 2."""
