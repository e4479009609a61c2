"""What the finished batches of a chat teach of one batch: the same for an answer, a picture and a paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.batch import read_batch
from planner.rig.closing import rig_of
from planner.rig.experience import Experience, experience, rigs_of
from planner.rig.finished import Finished, in_order
from scheduler.turn import BatchFile, Taught


def finished_in(taught: Sequence[Taught]) -> Mapping[int, Finished]:
    """The finished batches that a snapshot knows of, by number."""
    return {t.batch: Finished.from_entry(t.batch, t.name, t.entry) for t in taught}


def known_for(file: BatchFile, finished: Mapping[int, Finished]) -> Experience:
    """What batches packed before this one teach of its rig.

    A batch whose rig was not named is in the one that was used last.
    """
    own = finished.get(file.number)
    others = [f for f in finished.values() if f.batch != file.number]
    before = in_order(f for f in others if own is None or f.packed_at < own.packed_at)
    if not before:
        return experience((), None)
    return experience(before, rig_of(read_batch(file.entries, file.opened_at)) or rigs_of(before)[-1])
