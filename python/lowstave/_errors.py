from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, in the program's words."""

    what: str
    way_out: str
    #: File in which it is; empty where that is not known.
    file: str
    #: Row of that file, from 1.
    row: int | None
    #: Column or key; empty where that is not known.
    column: str
    #: 2: the input cannot be used. 3: the program or the machine failed.
    code: int

    def __str__(self) -> str:
        return f"{self.what}; {self.way_out}" if self.way_out else self.what


class LowstaveError(Exception):
    """A field that has no result. Its text is what the command prints, one problem a line."""

    #: Exit code that the command would have.
    code: int = 3

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        #: All problems of the step that could not go on.
        self.problems = problems

    def __reduce__(self):  # so that it travels between processes
        return (type(self), (self.problems,))


class InputRefused(LowstaveError):
    """The input cannot be used; trying again will not help."""

    code = 2


class ProgramFailed(LowstaveError):
    """The program or the machine failed; it may be tried again."""

    code = 3
