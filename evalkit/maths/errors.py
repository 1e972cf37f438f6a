"""What a fit may refuse: input that carries no answer, and a calculation that does not settle."""

from __future__ import annotations


class UnusableInputError(ValueError):
    """The numbers handed in cannot be used; the message says which and how to mend them."""


class NotSettledError(ArithmeticError):
    """A calculation was still moving after `rounds` rounds; no number is given."""

    def __init__(self, rounds: int, *, step: float, what: str = "The skill fit") -> None:
        self.rounds = rounds
        self.step = step
        super().__init__(f"{what} did not settle: after {rounds} rounds the last step was still {step:.2g}.")
