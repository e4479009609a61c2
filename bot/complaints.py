"""What a command says when it cannot go on: one line, and the exit status."""

from __future__ import annotations

import os

#: Set to anything, it shows the trace of a fault inside the tool.
DEBUG_VARIABLE = "BRINEBELL_DEBUG"


def debugging() -> bool:
    """True where somebody looks for a fault and wants to see traces."""
    return bool(os.environ.get(DEBUG_VARIABLE))


class Complaint(Exception):
    """A line for the person at the command line: what is wrong and how to mend it."""

    status = 1


class WrongCall(Complaint):
    """The command was called wrongly, or handed something that cannot be read."""

    status = 2


class WorkFailed(Complaint):
    """The call was right, the work itself failed."""

    status = 1
