"""``brinebell ask``: one stand-alone question, answered as a new chat would answer it; nothing is kept."""

from __future__ import annotations

import argparse
import json
from datetime import datetime
from zoneinfo import ZoneInfo

from bot.complaints import WrongCall
from bot.doors.answering import answering
from bot.doors.jsonlines import write_line
from bot.doors.opening import Which, new_chat
from bot.doors.play import NOTHING_HEARD
from bot.doors.said import Said
from bot.doors.terminal import plain_lines, user
from bot.settings import load
from bot.understanding import Context, Understood, understand
from scheduler.clock import SystemClock
from scheduler.turn import Chat, Inbound, Message, Outcome, Snapshot


def run(arguments: argparse.Namespace) -> int:
    """Answer, or with ``--explain`` say how the question was read."""
    question = " ".join(arguments.question).strip()
    if not question:
        raise WrongCall('nothing was asked; type for example: brinebell ask "is 60 C hot enough?"')
    chat, now = new_chat(load(arguments.data), Which.TERMINAL, "ask"), SystemClock().now()
    if arguments.explain:
        _explain(understand(question, Context(now, chat.zone, chat.units)), arguments.json)
    else:
        _answer(answer_of(question, chat, now), chat, now, arguments.json)
    return 0


def answer_of(question: str, chat: Chat, now: datetime) -> Outcome:
    """What the conversation says to this as the first message of a chat."""
    who = user()
    inbound = Inbound("ask", chat.id, who, now, question, sender_name=who)
    return answering().answer(Snapshot(chat, (), now), inbound)


def _answer(outcome: Outcome, chat: Chat, now: datetime, as_json: bool) -> None:
    if as_json:
        line = {
            "heard": outcome.heard or NOTHING_HEARD,
            "text": "\n\n".join(message.text for message in outcome.messages),
            "facts": [fact for message in outcome.messages for fact in message.facts],
        }
        print(write_line(line, ZoneInfo(chat.zone)))
        return
    for message in outcome.messages:
        print(*plain_lines(_said(message, now), numbered=False), sep="\n")


def _said(message: Message, now: datetime) -> Said:
    """Without buttons: there is nobody to press one."""
    return Said(now, "ask", message.text, files=message.files)


def _explain(understood: Understood, as_json: bool) -> None:
    if as_json:
        print(json.dumps(_explained(understood), ensure_ascii=False, default=str))
        return
    for piece in understood.pieces:
        print(f"{piece.words!r:32} {piece.rule:24} {piece.read_as}")
    for heard in understood.heard:
        topic = f" about {heard.topic}" if heard.topic else ""
        print(f"heard: {heard.intent}{topic} {json.dumps(dict(heard.slots), ensure_ascii=False, default=str)}")
    for doubt in understood.doubts:
        options = " or ".join(label for label, _ in doubt.options) or "nothing sensible"
        print(f"in doubt: {doubt.slot} ({doubt.reason}): {options}")


def _explained(understood: Understood) -> dict[str, object]:
    return {
        "pieces": [{"words": p.words, "rule": p.rule, "read_as": p.read_as} for p in understood.pieces],
        "heard": [{"intent": h.intent, "topic": h.topic, "slots": dict(h.slots)} for h in understood.heard],
        "doubts": [
            {
                "slot": d.slot,
                "reason": d.reason,
                "options": [{"label": n, "slots": dict(s)} for n, s in d.options],
            }
            for d in understood.doubts
        ],
    }
