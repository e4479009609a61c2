"""What a command says when it cannot go on: one line, and the exit status."""

from __future__ import annotations


class Complaint(Exception):
    """A line for the person at the command line: what is wrong and how to mend it."""

    status = 1


class WrongCall(Complaint):
    """The command was called wrongly, or handed something that cannot be read."""

    status = 2


class WorkFailed(Complaint):
    """The call was right, the work itself failed."""

    status = 1
