"""Pictures and papers for what a reply asks for: references in its files become files.

The conversation is pure and only names what is to be shown. Here it is reckoned from the batch as the
answer leaves it, made, and kept for the messenger. What cannot be made becomes a line of the text.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from bot.illustrate.references import EVERYTHING, PICTURES, Reference, read_reference
from scheduler.turn import Answering, BatchFile, Due, Inbound, Message, Outcome, Snapshot

log = logging.getLogger(__name__)


class Illustrated:
    """Answers as ``inner`` does, with its pictures and papers made.

    ``whole`` gives every batch of a chat, for whoever wants all of it; else those of the snapshot are all.
    Files are put under ``folder`` and named relative to it, or whole where ``whole_paths``; photos are
    looked for under ``photos`` (else under ``folder``). Making takes some hundred milliseconds a
    picture: call it off the event loop, as the runner does.
    """

    def __init__(
        self,
        inner: Answering,
        folder: Path,
        *,
        photos: Path | None = None,
        whole_paths: bool = False,
        whole: Callable[[str], Sequence[BatchFile]] = lambda _: (),
    ) -> None:
        from bot.illustrate.drawer import Drawer

        self._inner = inner
        self._folder = folder
        self._photos = photos or folder
        self._whole_paths = whole_paths
        self._whole = whole
        self._drawer = Drawer(folder)

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        """Answer one message, button or photo."""
        return self._made(snapshot, self._inner.answer(snapshot, inbound))

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        """Say a due reminder."""
        return self._made(snapshot, self._inner.ring(snapshot, due))

    def _made(self, snapshot: Snapshot, outcome: Outcome) -> Outcome:
        if outcome.forget:
            self._drawer.forget(snapshot.chat.id)
        if not any(_to_make(name) for message in outcome.messages for name in message.files):
            return outcome
        messages = tuple(self._with_files(message, snapshot, outcome) for message in outcome.messages)
        return replace(outcome, messages=messages)

    def _with_files(self, message: Message, snapshot: Snapshot, outcome: Outcome) -> Message:
        files: list[str] = []
        lines = [message.text]
        for name in message.files:
            if name == EVERYTHING:
                path, told = self._everything(snapshot, outcome)
                files += [path] if path else []
                lines += told
                continue
            wanted = read_reference(name)
            if wanted is None:
                files.append(name)
                continue
            path, told = self._make(wanted, snapshot, outcome)
            files += [path] if path else []
            lines += told
        return replace(message, text="\n".join(line for line in lines if line), files=tuple(files))

    def _make(self, wanted: Reference, snapshot: Snapshot, outcome: Outcome) -> tuple[str | None, tuple[str, ...]]:
        """The file's path, and lines about it; no path where it could not be made."""
        from bot.documents.label_layout import LabelTooSmall
        from bot.illustrate.batches import case_of
        from bot.illustrate.making import SUFFIX, NotToBeMade, make_file
        from bot.say import shown

        case = case_of(wanted.batch, snapshot, outcome)
        if case is None:
            return None, (shown.NO_BATCH,)
        try:
            made = make_file(wanted, case, self._photos)
            path = self._drawer.put(case.chat.id, made.data, f"{wanted.what}-{case.code}", SUFFIX[wanted.what])
        except (NotToBeMade, LabelTooSmall) as why:
            return None, (str(why),)
        except Exception:
            # A picture is never worth the answer that it stands beside.
            log.exception("not made: %s", wanted.what)
            return None, (shown.NOT_DRAWN if wanted.what in PICTURES else shown.NOT_WRITTEN,)
        return (str(self._folder / path) if self._whole_paths else path), made.notes

    def _everything(self, snapshot: Snapshot, outcome: Outcome) -> tuple[str | None, tuple[str, ...]]:
        """All that is kept of the chat, as one file."""
        from bot.illustrate.archive import SUFFIX, archive
        from bot.illustrate.batches import case_of
        from bot.say import shown

        chat = outcome.chat or snapshot.chat
        try:
            files = {file.number: file for file in (*self._whole(chat.id), *snapshot.batches)}
            fresh = [case.file for n in outcome.entries if (case := case_of(n, snapshot, outcome)) is not None]
            files |= {file.number: file for file in fresh}
            ordered = [files[number] for number in sorted(files)]
            made = archive(chat, ordered, snapshot.loose, snapshot.now, self._photos)
            path = self._drawer.put(chat.id, made.data, "everything", SUFFIX)
        except Exception:
            log.exception("not made: everything")
            return None, (shown.NOT_WRITTEN,)
        return (str(self._folder / path) if self._whole_paths else path), made.notes


def _to_make(name: str) -> bool:
    return name == EVERYTHING or read_reference(name) is not None
