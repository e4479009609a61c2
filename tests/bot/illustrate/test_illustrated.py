"""References become files; what cannot be made becomes a line, and nothing else is lost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import bot.illustrate.making
from bot.conversation import Conversation
from bot.illustrate import Illustrated
from bot.illustrate.drawer import FOLDER, KEPT, Drawer
from bot.illustrate.references import PAPERS, PICTURES, Reference, read_reference
from bot.say import shown
from scheduler.turn import Button, Due, Inbound, Message, Outcome, Ring, Snapshot
from tests.bot.illustrate.story import LOST, WHOLE, told
from tests.bot.talk import START, Talk

PNG, PDF = b"\x89PNG", b"%PDF-"


@dataclass
class Says:
    """Answers everything with one outcome."""

    outcome: Outcome

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        return self.outcome

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        return self.outcome


def illustrated(folder: Path, snapshot: Snapshot, *files: str, **outcome: Any) -> Message:
    """The message that comes of one with these files."""
    message = Message("Here.", (Button("Why?", {"say": "why"}),), ({"kind": "x"},), files, urgent=True)
    talk = Illustrated(Says(Outcome(messages=(message,), **outcome)), folder)
    answered = talk.answer(snapshot, Inbound("k", snapshot.chat.id, "ida", snapshot.now))
    rung = talk.ring(snapshot, Due(snapshot.chat.id, 1, Ring("k", snapshot.now, "core", "smoke"), 0.0, 0))
    assert answered == rung
    return answered.messages[0]


def starts(folder: Path, message: Message, name: int = 0) -> bytes:
    return (folder / message.files[name]).read_bytes()[:5]


@given(
    st.one_of(
        st.builds(Reference, st.sampled_from(PICTURES), st.integers(1, 10**6)),
        st.builds(Reference, st.sampled_from([p for p in PAPERS if p != "labels"]), st.integers(1, 10**6)),
        st.builds(
            Reference,
            st.just("labels"),
            st.integers(1, 10**6),
            st.integers(1, 500),
            st.one_of(st.none(), st.text(min_size=1)),
        ),
    )
)
def test_a_reference_comes_back(reference: Reference) -> None:
    assert read_reference(str(reference)) == reference


@pytest.mark.parametrize(
    "name", ["photos/ab/1.jpg", "C:\\fish.png", "picture:tide:1", "picture:plan:x", "labels:1", ""]
)
def test_a_path_is_no_reference(name: str) -> None:
    assert read_reference(name) is None


def test_references_become_files_and_the_rest_stays(tmp_path: Path) -> None:
    snapshot = told(WHOLE).talk.snapshot()
    message = illustrated(tmp_path, snapshot, "picture:plan:1", "photos/a.jpg", "labels:1:12", "calendar:1")
    assert message.text == "Here."
    assert (message.urgent, message.facts, [b.label for b in message.buttons]) == (True, ({"kind": "x"},), ["Why?"])
    assert message.files[1] == "photos/a.jpg"
    assert (starts(tmp_path, message), starts(tmp_path, message, 2)) == (PNG + b"\r", PDF)
    assert (tmp_path / message.files[3]).read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert all(not Path(name).is_absolute() for name in message.files)


def test_the_same_picture_is_kept_once(tmp_path: Path) -> None:
    snapshot = told(WHOLE).talk.snapshot()
    assert illustrated(tmp_path, snapshot, "picture:plan:1") == illustrated(tmp_path, snapshot, "picture:plan:1")
    assert len(list(tmp_path.rglob("*.png"))) == 1


def test_what_fails_is_a_line_and_the_others_are_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(what: str, *_: Any) -> bytes:
        if what == "cook":
            raise RuntimeError("no ink")
        return PNG

    monkeypatch.setattr(bot.illustrate.making, "draw", broken)
    message = illustrated(tmp_path, told(WHOLE).talk.snapshot(), "picture:cook:1", "picture:plan:1")
    assert message.text == f"Here.\n{shown.NOT_DRAWN}"
    assert starts(tmp_path, message).startswith(PNG)


def test_a_full_disk_costs_the_picture_only(tmp_path: Path) -> None:
    (tmp_path / FOLDER).write_text("a file where the folder should be")
    message = illustrated(tmp_path, told(WHOLE).talk.snapshot(), "picture:plan:1")
    assert (message.text, message.files) == (f"Here.\n{shown.NOT_DRAWN}", ())


@pytest.mark.parametrize(("lines", "name"), [(LOST, "label:1"), (LOST, "labels:1:3")])
def test_a_lost_batch_has_a_line_instead_of_a_label(tmp_path: Path, lines: Any, name: str) -> None:
    message = illustrated(tmp_path, told(lines).talk.snapshot(), name)
    assert message.files == ()
    assert "Do not eat or pack it" in message.text


def test_a_batch_that_is_not_there(tmp_path: Path) -> None:
    message = illustrated(tmp_path, told(WHOLE).talk.snapshot(), "picture:plan:7")
    assert (message.text, message.files) == (f"Here.\n{shown.NO_BATCH}", ())


def test_the_picture_shows_the_batch_as_the_answer_leaves_it(tmp_path: Path) -> None:
    """A first message opens the batch and asks for its picture at once."""
    talk = Talk()
    inbound = Inbound("k", "c1", "ida", START, "4 lb coho fillets, 1 inch, skin on")
    outcome = Conversation().answer(talk.snapshot(), inbound)
    files = {"files": ("picture:plan:1",)}
    asked = replace(outcome, messages=tuple(replace(m, **files) for m in outcome.messages))
    (message,) = Illustrated(Says(asked), tmp_path).answer(talk.snapshot(), inbound).messages
    assert starts(tmp_path, message).startswith(PNG)


def test_no_part_of_a_name_comes_from_a_person(tmp_path: Path) -> None:
    snapshot = told(WHOLE).talk.snapshot()
    chat = replace(snapshot.chat, id="../../etc/passwd")
    (file,) = snapshot.batches
    evil = replace(snapshot, chat=chat, batches=(replace(file, name="../../x\x00; rm -rf"),))
    message = illustrated(tmp_path, evil, "picture:plan:1", "labels:1:2:../../x")
    assert len(message.files) == 2
    assert all(path.is_relative_to(tmp_path) for name in message.files if (path := (tmp_path / name).resolve()))
    assert not any(".." in name or "rm" in name for name in message.files)


def test_deleting_everything_deletes_the_pictures(tmp_path: Path) -> None:
    snapshot = told(WHOLE).talk.snapshot()
    illustrated(tmp_path, snapshot, "picture:plan:1")
    other = replace(snapshot, chat=replace(snapshot.chat, id="c2"))
    illustrated(tmp_path, other, "picture:plan:1")
    illustrated(tmp_path, snapshot, forget=True)
    assert len(list(tmp_path.rglob("*.png"))) == 1


def test_a_chat_keeps_its_newest_files_only(tmp_path: Path) -> None:
    drawer = Drawer(tmp_path)
    names = [drawer.put("c1", str(n).encode(), "plan-1", ".png") for n in range(KEPT + 5)]
    assert len(list(tmp_path.rglob("*.png"))) == KEPT
    assert (tmp_path / names[-1]).exists()
