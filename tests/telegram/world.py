"""What stands behind the Bot API stand-in: people, chats, messages, files and pending updates."""

from __future__ import annotations

import asyncio
import itertools
import time
from collections import defaultdict, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tests.telegram.faults import Fault

Json = dict[str, Any]
BOT = {"id": 7_000_001, "is_bot": True, "first_name": "Helper", "username": "helper_bot"}
#: Update kinds that Telegram leaves out unless they are asked for by name.
OPT_IN = {"chat_member", "message_reaction", "message_reaction_count"}


@dataclass(frozen=True)
class Person:
    """Somebody with a phone."""

    id: int
    first_name: str

    def to_json(self) -> Json:
        return {"id": self.id, "is_bot": False, "first_name": self.first_name, "language_code": "en"}


@dataclass
class Room:
    """A chat, and what the bot may do in it."""

    id: int
    kind: str
    title: str
    blocked: bool = False
    moved_to: int | None = None
    can_pin: bool = True
    privacy: bool = False
    pinned: list[int] = field(default_factory=list)

    def to_json(self) -> Json:
        name = "first_name" if self.kind == "private" else "title"
        return {"id": self.id, "type": self.kind, name: self.title}


@dataclass
class Note:
    """A message in a chat, as it reads now."""

    id: int
    room: Room
    date: int
    sender: Json
    body: Json
    keyboard: list[list[Json]] = field(default_factory=list)
    reply_to: int | None = None
    edits: int = 0

    @property
    def text(self) -> str:
        return str(self.body.get("text", self.body.get("caption", "")))

    @property
    def labels(self) -> list[str]:
        return [button["text"] for row in self.keyboard for button in row]

    def to_json(self) -> Json:
        out = {"message_id": self.id, "date": self.date, "chat": self.room.to_json(), "from": self.sender}
        out |= self.body
        if self.keyboard:
            out["reply_markup"] = {"inline_keyboard": self.keyboard}
        if self.edits:
            out["edit_date"] = self.date
        return out


@dataclass(frozen=True)
class Call:
    """A method call as it arrived. ``files`` maps a field to (file name, content)."""

    method: str
    params: Json
    files: dict[str, tuple[str, bytes]]
    at: float


class World:
    """The state of one bot's corner of the messenger, and the hands of its people."""

    def __init__(self, now: Callable[[], float] = time.time) -> None:
        self.now = now
        self.rooms: dict[int, Room] = {}
        self.notes: dict[tuple[int, int], Note] = {}
        self.files: dict[str, tuple[str, bytes]] = {}
        self.calls: list[Call] = []
        self.queries: dict[str, Json | None] = {}
        self.pending: list[Json] = []
        self.served: list[Json] = []
        self.faults: dict[str, deque[Fault]] = defaultdict(deque)
        self.changed = asyncio.Event()
        self.calling = asyncio.Event()
        self.commands: list[Json] = []
        self._ids = itertools.count(1)
        self._update_ids = itertools.count(500_000)

    # -- who is there

    def person(self, name: str) -> Person:
        """Somebody new, with a private chat of their own."""
        who = Person(1_000 + next(self._ids), name)
        self.rooms[who.id] = Room(who.id, "private", name)
        return who

    def group(self, title: str, kind: str = "group", *, privacy: bool = False, can_pin: bool = True) -> Room:
        """A new group with the bot in it."""
        number = -(2_000 + next(self._ids)) if kind == "group" else -(1_000_000_000_000 + next(self._ids))
        self.rooms[number] = Room(number, kind, title, privacy=privacy, can_pin=can_pin)
        return self.rooms[number]

    def upgrade(self, room: Room) -> Room:
        """Turn a group into a supergroup: a new chat id, and a service message in each."""
        new = self.group(room.title, "supergroup", privacy=room.privacy, can_pin=room.can_pin)
        room.moved_to = new.id
        system = {"id": 1_087_968_824, "is_bot": True, "first_name": "Group"}
        old_note = self.note(room, system, {"migrate_to_chat_id": new.id})
        new_note = self.note(new, system, {"migrate_from_chat_id": room.id})
        self.push({"message": old_note.to_json()})
        self.push({"message": new_note.to_json()})
        return new

    # -- what people do

    def says(self, who: Person, text: str, room: Room | None = None, reply_to: Note | None = None) -> Note:
        """A typed message; delivered to the bot unless the group keeps it from the bot."""
        note = self.note(room or self.rooms[who.id], who.to_json(), {"text": text, "entities": entities(text)})
        self._deliver(note, reply_to)
        return note

    def edits(self, who: Person, note: Note, text: str) -> None:
        """Somebody changes what they wrote."""
        note.body |= {"text": text, "entities": entities(text)}
        note.edits += 1
        self.push({"edited_message": note.to_json()})

    def removes(self, note: Note) -> None:
        """Somebody deletes a message, and with it its pin."""
        del self.notes[note.room.id, note.id]
        if note.id in note.room.pinned:
            note.room.pinned.remove(note.id)
        self.stir()

    def shows(self, who: Person, picture: bytes, caption: str = "", room: Room | None = None) -> Note:
        """A photo, in two sizes as the messenger makes them."""
        sizes = [self._size(self.keep("photos/small.jpg", picture[:64]), 90, 64)]
        sizes.append(self._size(self.keep("photos/large.jpg", picture), 1280, len(picture)))
        body: Json = {"photo": sizes} | ({"caption": caption} if caption else {})
        note = self.note(room or self.rooms[who.id], who.to_json(), body)
        self._deliver(note, None)
        return note

    def sends_file(self, who: Person, name: str, mime: str, content: bytes, size: int | None = None) -> Note:
        """A file as it is; ``size`` may claim more than the content has."""
        file_id = self.keep(f"documents/{name}", content)
        document = {
            "file_id": file_id,
            "file_unique_id": f"u{file_id}",
            "file_name": name,
            "mime_type": mime,
            "file_size": len(content) if size is None else size,
        }
        note = self.note(self.rooms[who.id], who.to_json(), {"document": document})
        self._deliver(note, None)
        return note

    def presses(self, who: Person, note: Note, label: str) -> str:
        """A tap on a button of the message, as it stands there or as it stood."""
        data = next(b["callback_data"] for row in note.keyboard for b in row if b["text"] == label)
        return self.forges(who, note, data)

    def forges(self, who: Person, note: Note, data: str) -> str:
        """A button press with any data at all, from this chat's message."""
        query = f"q{next(self._ids)}"
        self.queries[query] = None
        press = {
            "id": query,
            "from": who.to_json(),
            "chat_instance": f"c{note.room.id}",
            "message": note.to_json(),
            "data": data,
        }
        self.push({"callback_query": press})
        return query

    def member_change(self, chat: int, status: str) -> Json:
        """The update that tells what became of the bot in a chat: "kicked", "left", "member"."""
        member = {"user": BOT, "status": status} | ({"until_date": 0} if status == "kicked" else {})
        change = {
            "chat": self.rooms[chat].to_json(),
            "from": {"id": 5, "is_bot": False, "first_name": "Somebody"},
            "date": int(self.now()),
            "old_chat_member": {"user": BOT, "status": "member"},
            "new_chat_member": member,
        }
        return {"my_chat_member": change}

    # -- bookkeeping

    def note(self, room: Room, sender: Json, body: Json) -> Note:
        number = next(self._ids)
        self.notes[room.id, number] = note = Note(number, room, int(self.now()), sender, body)
        return note

    def keep(self, name: str, content: bytes) -> str:
        """Keep a file; its new file id."""
        number = next(self._ids)
        stem, _, ending = name.rpartition(".")
        self.files[f"f{number}"] = (f"{stem}_{number}.{ending}", content)
        return f"f{number}"

    def push(self, update: Json) -> Json:
        """Queue an update for the bot."""
        update = {"update_id": next(self._update_ids), **update}
        self.pending.append(update)
        self.stir()
        return update

    def again(self, update: Json) -> None:
        """Deliver once more what was delivered before, with its old number."""
        self.pending.insert(0, update)
        self.stir()

    def stir(self) -> None:
        """Wake whoever waits for something to change."""
        self.changed.set()
        self.changed = asyncio.Event()

    def record(self, call: Call) -> None:
        """Note a call, and tell whoever waits on ``calling``."""
        self.calls.append(call)
        self.calling.set()
        self.calling = asyncio.Event()

    def said(self, who: Person | Room) -> list[Note]:
        """What the bot has in this chat, oldest first."""
        return [n for n in self.notes.values() if n.room.id == who.id and n.sender is BOT]

    def called(self, method: str) -> list[Call]:
        return [call for call in self.calls if call.method.lower() == method.lower()]

    async def until(self, met: Callable[[], Any], within_s: float = 10.0) -> Any:
        """Wait for something to become true; what it was. Raises TimeoutError with a clear word."""
        deadline = time.monotonic() + within_s
        while not (value := met()):
            if time.monotonic() > deadline:
                raise TimeoutError(f"never became true: {[(c.method, c.params) for c in self.calls[-8:]]}")
            await asyncio.sleep(0.005)
        return value

    def _deliver(self, note: Note, reply_to: Note | None) -> None:
        if reply_to is not None:
            note.reply_to = reply_to.id
            note.body["reply_to_message"] = reply_to.to_json()
        if not note.room.privacy or _meant_for_bot(note, reply_to):
            self.push({"message": note.to_json()})

    @staticmethod
    def _size(file_id: str, side: int, size: int) -> Json:
        return {
            "file_id": file_id,
            "file_unique_id": f"u{file_id}",
            "width": side,
            "height": side,
            "file_size": size,
        }


def _meant_for_bot(note: Note, reply_to: Note | None) -> bool:
    answers_bot = reply_to is not None and reply_to.sender is BOT
    return answers_bot or note.text.startswith("/") or f"@{BOT['username']}" in note.text


def entities(text: str) -> list[Json]:
    """Commands and mentions in a text, counted in UTF-16 units as the messenger does."""
    found: list[Json] = []
    offset = 0
    for word in text.split(" "):
        kind = {"/": "bot_command", "@": "mention"}.get(word[:1])
        if kind and len(word) > 1:
            found.append({"type": kind, "offset": offset, "length": units(word)})
        offset += units(word) + 1
    return found


def units(text: str) -> int:
    """Length in UTF-16 code units."""
    return len(text.encode("utf-16-le")) // 2
