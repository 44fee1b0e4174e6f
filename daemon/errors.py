"""Errors a maker may see: what, where, and the remedy."""

from __future__ import annotations


class BadInput(Exception):
    """Something handed to the program cannot be used; the command line prints it and exits with 2.

    Parameters
    ----------
    where
        The file (and row or key) or the option it stands in.
    problem
        What is wrong, with the value and its unit.
    remedy
        What to write instead.
    """

    def __init__(self, where: str, problem: str, remedy: str = "") -> None:
        self.where = where
        self.problem = problem
        self.remedy = remedy
        super().__init__(self.text)

    @property
    def text(self) -> str:
        """Return the whole message, one line a problem."""
        return f"{self.where}: {self.problem}" + (f" {self.remedy}" if self.remedy else "")
