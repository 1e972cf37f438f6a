"""What a fit may refuse: input that carries no answer, and a calculation that does not settle."""

from __future__ import annotations


class UnusableInputError(ValueError):
    """The numbers handed in cannot be used; the message says which and how to mend them."""


class NotSettledError(ArithmeticError):
    """A calculation was still moving after `rounds` rounds; no number is given."""

    def __init__(self, rounds: int, step: float, what: str = "The skill fit") -> None:
        # The parts, not the sentence, are what it is made of again when it comes from another process.
        super().__init__(rounds, step, what)
        self.rounds, self.step, self.what = rounds, step, what

    def __str__(self) -> str:
        return f"{self.what} did not settle: after {self.rounds} rounds the last step was still {self.step:.2g}."
