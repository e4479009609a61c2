"""The Bot API's methods on a :class:`World`, with the refusals that the real one gives."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

from PIL import Image, UnidentifiedImageError

from tests.telegram.faults import refusal
from tests.telegram.world import BOT, Call, Json, Note, Room, World, units

MB = 1024 * 1024
NOT_MODIFIED = (
    "Bad Request: message is not modified: specified new message content and reply markup are exactly "
    "the same as a current content and reply markup of the message"
)
NO_RIGHT = "Bad Request: not enough rights to manage pinned messages in the chat"
OLD_QUERY = "Bad Request: query is too old and response timeout expired or query ID is invalid"


class Refused(Exception):
    """The method says no."""

    def __init__(self, code: int, description: str, **parameters: Any) -> None:
        super().__init__(description)
        self.answer = refusal(code, description, **parameters)


class Methods:
    """Every method by its name in lower case. ``getUpdates`` and webhooks live in the server."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.table: dict[str, Callable[[Call], Any]] = {
            "getme": lambda _: BOT | {"can_join_groups": True, "can_read_all_group_messages": False},
            "sendmessage": self.send_message,
            "sendphoto": self.send_photo,
            "senddocument": self.send_document,
            "sendchataction": lambda call: bool(self.room(call)),
            "editmessagetext": self.edit_text,
            "editmessagecaption": self.edit_caption,
            "editmessagereplymarkup": self.edit_markup,
            "deletemessage": self.delete,
            "pinchatmessage": self.pin,
            "unpinchatmessage": self.unpin,
            "answercallbackquery": self.answer_query,
            "getfile": self.get_file,
            "getchat": self.get_chat,
            "setmycommands": self.set_commands,
            "getmycommands": lambda _: self.world.commands,
        }

    def __call__(self, call: Call) -> Any:
        """The method's result. Raises Refused."""
        try:
            method = self.table[call.method.lower()]
        except KeyError:
            raise Refused(404, "Not Found") from None
        return method(call)

    def room(self, call: Call) -> Room:
        found = self.world.rooms.get(int(call.params.get("chat_id", 0)))
        if found is None:
            raise Refused(400, "Bad Request: chat not found")
        if found.blocked:
            how = "blocked by the user" if found.kind == "private" else "kicked from the group chat"
            raise Refused(403, f"Forbidden: bot was {how}")
        if found.moved_to is not None:
            text = "Bad Request: group chat was upgraded to a supergroup chat"
            raise Refused(400, text, migrate_to_chat_id=found.moved_to)
        return found

    def own(self, call: Call, doing: str) -> Note:
        note = self.world.notes.get((self.room(call).id, int(call.params["message_id"])))
        if note is None:
            raise Refused(400, f"Bad Request: message to {doing} not found")
        return note

    def send_message(self, call: Call) -> Json:
        room = self.room(call)
        return self._post(room, call, {"text": _text(call, "text", 4096)})

    def send_photo(self, call: Call) -> Json:
        room, (_, content) = self.room(call), self._upload(call, "photo", 10)
        try:
            width, height = Image.open(io.BytesIO(content)).size
        except UnidentifiedImageError:
            raise Refused(400, "Bad Request: IMAGE_PROCESS_FAILED") from None
        if width + height > 10_000 or max(width, height) > 20 * min(width, height):
            raise Refused(400, "Bad Request: PHOTO_INVALID_DIMENSIONS")
        size = self.world._size(self.world.keep("photos/sent.jpg", content), width, len(content))
        return self._post(room, call, {"photo": [size], "caption": _text(call, "caption", 1024)})

    def send_document(self, call: Call) -> Json:
        room, (name, content) = self.room(call), self._upload(call, "document", 50)
        file_id = self.world.keep(f"documents/{name}", content)
        document = {"file_id": file_id, "file_unique_id": f"u{file_id}", "file_name": name}
        return self._post(room, call, {"document": document, "caption": _text(call, "caption", 1024)})

    def edit_text(self, call: Call) -> Json:
        return self._edit(call, {"text": _text(call, "text", 4096)})

    def edit_caption(self, call: Call) -> Json:
        return self._edit(call, {"caption": _text(call, "caption", 1024)})

    def edit_markup(self, call: Call) -> Json:
        return self._edit(call, {})

    def delete(self, call: Call) -> bool:
        note = self.own(call, "delete")
        self.world.removes(note)
        return True

    def pin(self, call: Call) -> bool:
        note = self.own(call, "pin")
        if not note.room.can_pin:
            raise Refused(400, NO_RIGHT)
        if note.id in note.room.pinned:
            return True
        note.room.pinned.append(note.id)
        service = self.world.note(note.room, dict(BOT), {"pinned_message": note.to_json()})
        self.world.push({"message": service.to_json()})
        return True

    def unpin(self, call: Call) -> bool:
        room, number = self.room(call), int(call.params["message_id"])
        if not room.can_pin:
            raise Refused(400, NO_RIGHT)
        if number not in room.pinned:
            raise Refused(400, "Bad Request: message to unpin not found")
        room.pinned.remove(number)
        return True

    def answer_query(self, call: Call) -> bool:
        query = call.params.get("callback_query_id", "")
        if query not in self.world.queries or self.world.queries[query] is not None:
            raise Refused(400, OLD_QUERY)
        if len(call.params.get("text", "")) > 200:
            raise Refused(400, "Bad Request: MESSAGE_TOO_LONG")
        self.world.queries[query] = call.params
        return True

    def get_file(self, call: Call) -> Json:
        file_id = call.params.get("file_id", "")
        if file_id not in self.world.files:
            raise Refused(400, "Bad Request: wrong file_id or the file is temporarily unavailable")
        path, content = self.world.files[file_id]
        if len(content) > 20 * MB:
            raise Refused(400, "Bad Request: file is too big")
        return {
            "file_id": file_id,
            "file_unique_id": f"u{file_id}",
            "file_size": len(content),
            "file_path": path,
        }

    def get_chat(self, call: Call) -> Json:
        return self.room(call).to_json() | {"accent_color_id": 1, "max_reaction_count": 11}

    def set_commands(self, call: Call) -> bool:
        self.world.commands = call.params["commands"]
        return True

    def _upload(self, call: Call, field: str, limit_mb: int) -> tuple[str, bytes]:
        name = str(call.params.get(field, "")).removeprefix("attach://") or field
        if name not in call.files:
            raise Refused(400, f"Bad Request: there is no {field} in the request")
        if len(call.files[name][1]) > limit_mb * MB:
            raise Refused(413, "Request Entity Too Large")
        return call.files[name]

    def _post(self, room: Room, call: Call, body: Json) -> Json:
        keyboard = _keyboard(call)
        note = self.world.note(room, BOT, {key: value for key, value in body.items() if value})
        note.keyboard = keyboard
        return note.to_json()

    def _edit(self, call: Call, body: Json) -> Json:
        note, keyboard = self.own(call, "edit"), _keyboard(call)
        if note.sender is not BOT:
            raise Refused(400, "Bad Request: message can't be edited")
        if note.body == note.body | body and note.keyboard == keyboard:
            raise Refused(400, NOT_MODIFIED)
        note.body |= body
        note.keyboard = keyboard
        note.edits += 1
        return note.to_json()


def _text(call: Call, field: str, limit: int) -> str:
    text = str(call.params.get(field, ""))
    if field == "text" and not text.strip():
        raise Refused(400, "Bad Request: message text is empty")
    if units(text) > limit:
        what = "message is too long" if field == "text" else "message caption is too long"
        raise Refused(400, f"Bad Request: {what}")
    return text


def _keyboard(call: Call) -> list[list[Json]]:
    rows: list[list[Json]] = (call.params.get("reply_markup") or {}).get("inline_keyboard", [])
    for button in (b for row in rows for b in row):
        if not button.get("text"):
            raise Refused(400, "Bad Request: inline keyboard button text is empty")
        if not 1 <= len(button.get("callback_data", "").encode()) <= 64:
            raise Refused(400, "Bad Request: BUTTON_DATA_INVALID")
    return rows
