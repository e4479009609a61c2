"""All that is kept of a chat, as one file: nothing is missing, and any tool can read it."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from pathlib import Path

from bot.conversation import Conversation
from bot.documents.table import read_record_json
from bot.doors.answering import answering
from bot.illustrate import Illustrated
from bot.illustrate.references import EVERYTHING
from bot.say import shown
from planner.entries import Entry, Kind
from scheduler.arrivals import Arrival
from scheduler.clock import FakeClock
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.turn import Inbound, NewBatch, Outcome, Photo
from tests.bot.talk import START, Talk
from tests.scheduler.parts import Noted
from tests.telegram.harness import picture

BATCH = "4 lb coho fillets, 1 inch, skin on, 10 % brine, going in the brine now"


def opened(folder: Path, name: str) -> zipfile.ZipFile:
    return zipfile.ZipFile(io.BytesIO((folder / name).read_bytes()))


def test_every_way_to_ask_for_it_gives_the_one_file() -> None:
    for asked in ("export everything", "send me all our data", "export all data please", "download all my records"):
        message = Talk().say(asked)
        assert message is not None
        assert message.files == (EVERYTHING,)


def test_journals_tables_and_photos_are_in_it(tmp_path: Path) -> None:
    talk = Talk(conversation=Illustrated(Conversation(), tmp_path))  # type: ignore[arg-type]
    (tmp_path / "p.jpg").write_bytes(content := picture())
    talk.say(BATCH)
    shown_one = Inbound("k", "c1", "ida", talk.now, "fridge 36 F", photo=Photo("p.jpg"))
    talk._apply(talk.conversation.answer(talk.snapshot(), shown_one))
    talk.say("remind me in 20 to check the fire")
    message = talk.say("export everything")
    assert message is not None
    [path] = message.files
    with opened(tmp_path, path) as zipped:
        about = json.loads(zipped.read("chat.json"))
        journal = read_record_json(zipped.read("batch-0001/journal.json"))
        rows = list(csv.reader(io.StringIO(zipped.read("batch-0001/journal.csv").decode("utf-8-sig"))))
        photos = [zipped.read(name) for name in zipped.namelist() if name.endswith(".jpg")]
    assert journal == list(talk.batches[1].entries)
    assert len(rows) == len(journal) + 1
    assert photos == [content]
    assert [r["about"] for r in about["reminders"]] == ["check the fire"]
    assert about["people"] == [{"name": "ida", "id": "ida"}]


async def test_batches_that_an_answer_does_not_look_at_are_in_it_too(tmp_path: Path) -> None:
    """A snapshot holds the newest batches only; whoever asks for all gets all."""
    clock = FakeClock(START)
    store = await Store.open(f"sqlite:///{tmp_path / 'store.sqlite3'}", clock=clock)
    count = 60
    for number in range(1, count + 1):
        seen = await store.snapshot("c1", START)
        told = Entry(1, Kind.MESSAGE, START, START, "ida", {}, f"batch {number}")
        outcome = Outcome(opened=(NewBatch(number, f"b{number}"),), closed=(number,), entries={number: (told,)})
        await store.commit(outcome, None, seen, START)
    talk = answering(tmp_path, whole=store.all_batches_now)
    out = Noted(clock)
    await store.take_in([Arrival(Inbound("k", "c1", "ida", START, "export everything"))])
    await Runner(store, talk, out, clock).settle()
    [sent] = out.outs
    with opened(tmp_path, sent.message.files[0]) as zipped:
        journals = [read_record_json(zipped.read(n)) for n in zipped.namelist() if n.endswith("journal.json")]
    assert sorted(int(j[0].words.split()[1]) for j in journals) == list(range(1, count + 1))
    await store.close()


def test_photos_beyond_what_a_messenger_takes_are_counted(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr("bot.illustrate.archive._MOST_PHOTO_BYTES", 10)
    talk = Talk(conversation=Illustrated(Conversation(), tmp_path))  # type: ignore[arg-type]
    (tmp_path / "p.jpg").write_bytes(picture())
    talk.say(BATCH)
    photo = Inbound("k", "c1", "ida", talk.now, "", photo=Photo("p.jpg"))
    talk._apply(talk.conversation.answer(talk.snapshot(), photo))
    message = talk.say("export everything")
    assert message is not None
    assert message.text.endswith(shown.photos_left_out(1))
