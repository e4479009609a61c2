"""The conversation: from a message or a due reminder to what is kept and what is said.

Pure: everything it depends on is in the snapshot, everything it wants is in the outcome.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from bot.replies import ask, ask_one, correct, crew, describe, event, learned, reading, small
from bot.replies.again import start_like
from bot.replies.asked_to_show import part_wish
from bot.replies.cards import cards
from bot.replies.chatter import talk_among_people
from bot.replies.context import UNITS_AS_WRITTEN, context_of
from bot.replies.evening import keep_evening_note
from bot.replies.old import FROM_ANOTHER_TIME, old_button
from bot.replies.part import Part, message_of
from bot.replies.rings import ring_parts, snooze
from bot.replies.tasted import take_taste
from bot.replies.which import batch_meant
from bot.say.help import NO_BATCH_FOR_PHOTO
from bot.understanding import Doubt, Heard, Understood, understand
from bot.understanding.crew import read_crew
from bot.understanding.wishes import read_wish
from bot.work import BELL, Work
from planner.entries import Kind
from scheduler.turn import BatchFile, Due, Inbound, Outcome, Press, Snapshot

#: A message longer than this is read in part, and the person is told.
_LONGEST = 4_096


class Conversation:
    """Answers messages, buttons and photos, and words reminders.

    With ``cards`` each answer also says how the pinned cards of its batches are to read: for a
    messenger that can edit a message in place.
    """

    def __init__(self, *, cards: bool = False) -> None:
        self._cards = cards

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        """Answer one message, button or photo."""
        work = Work(snapshot, inbound.sender_name or inbound.sender, inbound.sender, self._cards)
        crew.meet(work, inbound)
        if inbound.press is not None:
            return self._pressed(work, inbound.press)
        typed = _typed_button(work, inbound.text)
        if typed is not None:
            return self._pressed(work, typed, inbound)
        return self._heard(work, inbound, inbound.text)

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        """Say a due reminder with the facts of now, and what to want next."""
        work = Work(snapshot, BELL, with_cards=self._cards)
        parts = ring_parts(work, due)
        return _finish(work, parts, None)

    def _heard(self, work: Work, inbound: Inbound, text: str) -> Outcome:
        understood = _settled(work, _understood(work, inbound, text))
        if talk_among_people(inbound, understood):
            return Outcome(heard=_heard_fact(understood))
        _write_alike(work, understood)
        parts = self._parts(work, understood, inbound, text)
        if len(text) > _LONGEST:
            parts.append(Part(f"That was long: I read the first {_LONGEST} characters."))
        _remember_last(work, inbound.sender, understood)
        return _finish(work, parts, _heard_fact(understood))

    def _parts(self, work: Work, understood: Understood, inbound: Inbound, text: str) -> list[Part]:
        parts: list[Part] = []
        open_doubt = understood.doubts[0] if understood.doubts else None
        said = [h for h in understood.heard if not _at_no_time(h, open_doubt)]
        readings = _each_once([h for h in said if h.intent == "reading" and h.slots])
        if inbound.photo is not None and work.focus is not None:
            work.add(work.focus, Kind.MESSAGE, {"photo": inbound.photo.path}, words=text)
            parts.append(Part("Picture kept with the batch.") if not readings else Part(""))
        elif inbound.photo is not None:
            parts.append(Part(NO_BATCH_FOR_PHOTO))
        for heard in _in_order(said):
            if heard.intent == "reading":
                if readings and heard is readings[0]:
                    parts.append(self._readings(work, readings, text, aside=any(p.about for p in parts)))
                continue
            if open_doubt is not None and (not heard.slots or heard.intent == "ask"):
                continue
            if heard.intent == "chat" and parts:
                continue  # the words under a picture need say nothing more
            parts.append(self._one(work, heard, text, may_ask=open_doubt is None))
        parts = _retold(work, understood, parts)
        if open_doubt is not None:
            main = understood.heard[0]
            others = _beside(main, open_doubt)
            parts.append(ask_one.ask_doubt(work, open_doubt, main.intent, others, text))
        elif any(h.intent != "chat" for h in understood.heard) and not _asks(parts):
            work.remember(asked=None)
        _note(work, understood, text)
        return parts

    def _readings(self, work: Work, heard: Sequence[Heard], text: str, *, aside: bool) -> Part:
        batch = _named(work, heard[0]) or batch_meant(work, "reading", heard[0].slots)
        if isinstance(batch, Part):
            return batch
        return reading.take_readings(work, [h.slots for h in heard], text, batch=batch, aside=aside)

    def _one(self, work: Work, heard: Heard, text: str, *, may_ask: bool) -> Part:
        if heard.topic == "crew":
            return crew.crew(work, heard.slots, text)
        if heard.topic == "name":
            return describe.call_it(work, str(heard.slots["name"]))
        if "tasted" in heard.slots:
            return take_taste(work, heard.slots, text, batch=_named(work, heard))
        batch = _named(work, heard) or batch_meant(work, heard.intent, heard.slots)
        if isinstance(batch, Part):
            return batch
        match _meant(heard):
            case "describe" if "like" in heard.slots:
                return start_like(work, heard.slots, text, may_ask=may_ask)
            case "correct" if "forget" in heard.slots:
                return learned.forget(work, heard.slots, text)
            case "describe":
                return describe.describe(work, heard.slots, text, batch=batch, may_ask=may_ask)
            case "event":
                return event.take_event(work, heard.slots, text, batch=batch)
            case "ask":
                return ask.answer(work, heard.topic or "other", heard.slots, text, batch=batch)
            case "correct":
                return correct.correct(work, heard.slots, heard.old, text, batch=batch)
            case "setting":
                return small.setting(work, heard.slots)
        return small.chat(work, text)

    def _pressed(self, work: Work, press: Press, inbound: Inbound | None = None) -> Outcome:
        if press.unknown:
            return _finish(work, [Part(FROM_ANOTHER_TIME)], _pressed_fact({}))
        if press.taken:
            return _finish(work, [Part("Already noted.")], _pressed_fact(press.means))
        means = press.means
        if press.message is not None and (old := old_button(work, means)) is not None:
            return _finish(work, [old], _pressed_fact({}))
        if "say" in means:
            told = inbound or Inbound("", work.chat.id, work.who, work.now, str(means["say"]))
            return self._heard(work, replace(told, press=None, text=str(means["say"])), str(means["say"]))
        parts = self._means(work, means, press.label)
        _answered(work, means)
        return _finish(work, parts, _pressed_fact(means))

    def _means(self, work: Work, means: Mapping[str, Any], label: str) -> list[Part]:
        file = work.files.get(means["batch"]) if means.get("batch") is not None else work.focus
        match means:
            case {"do": "forget_ask"}:
                return [small.forget_ask(work)]
            case {"do": "forget"}:
                return [small.forget(work)]
            case {"do": "keep"}:
                return [small.keep(work)]
            case {"snooze_min": minutes}:
                return [snooze(work, means, int(minutes))]
            case {"on_it": True}:
                return [crew.take(work, _called(work, means))]
            case {"not_yet": True}:
                work.remember(asked=None)
                return [Part('Good. Say "fish is in" when it is.')]
            case {"slots": {"tasted": _}}:
                return [take_taste(work, means["slots"], label, batch=file)]
        if file is not None and file.number not in {f.number for f in work.running}:
            return [Part(f"{file.name[:1].upper()}{file.name[1:]} is closed; nothing changed.")]
        slots = dict(means.get("slots", {}))
        work.remember(asked=None)
        match means.get("intent"):
            case "reading":
                return [reading.take_readings(work, [slots], label, batch=file)]
            case "event":
                return [event.take_event(work, slots, label, batch=file)]
            case "ask":
                return [ask.answer(work, str(means.get("topic", "stay")), slots, label, batch=file)]
            case "correct":
                return [correct.correct(work, slots, None, label, batch=file)]
        return [describe.describe(work, slots, label, batch=file)]


def _understood(work: Work, inbound: Inbound, text: str) -> Understood:
    """What the message says, with the picture or paper that it asks for last."""
    if small.is_note(text):
        return Understood((Heard("chat"),))
    context = context_of(work, inbound.sender)
    wished = read_crew(text, context) or read_wish(text, context)
    if wished is not None:
        return Understood((wished,))
    said, wish = part_wish(text)
    if wish is None:
        return understand(text, context)
    if not said:
        return Understood((wish,))
    understood = understand(said, context)
    return replace(understood, heard=(*understood.heard, wish))


def _retold(work: Work, understood: Understood, parts: list[Part]) -> list[Part]:
    """Words about an event are told last, with the plan that the whole message makes.

    A change to the batch that comes along with an event needs no plan of its own.
    """
    if len(parts) < 2 or not any(p.about for p in parts):
        return parts
    if work.opened:
        return [p for p in parts if not p.about]
    kept = [p for p in parts if p.about or not p.is_plan or _asks([p])]
    return [event.retell(work, p) if p.about else p for p in kept]


_SCALES = dict.fromkeys(("c", "celsius", "celcius", "centigrade", "degrees c"), "°c") | dict.fromkeys(
    ("f", "fahrenheit", "farenheit", "degrees f"), "°f"
)
_SIZES = {"big": "large ones", "big ones": "large ones", "thick ones": "large ones", "thin ones": "small ones"}


def _typed_button(work: Work, text: str) -> Press | None:
    """A button's label typed as a word is that button, of the newest message that has it."""
    typed = text.strip().casefold()
    if not typed or len(typed) > 40:
        return None
    typed = _SCALES.get(typed, typed)
    same = {typed, f"{typed} ones", _SIZES.get(typed, typed), *({"all of them"} if typed in ("all", "both") else ())}
    for message in work.snapshot.recent[:3]:
        for button in message.buttons:
            if button.label.casefold() in same or (typed in ("°c", "°f") and button.label.casefold().endswith(typed)):
                return Press(button.label, button.means, None)
    return None


def _settled(work: Work, understood: Understood) -> Understood:
    """Settle a doubt by the plan where only one of its readings makes sense there."""
    if not understood.doubts or work.focus is None:
        return understood
    doubt, main = understood.doubts[0], understood.heard[0]
    slots: Mapping[str, Any] | None = None
    if doubt.reason == "am or pm" and main.intent == "ask":
        slots = _soonest(work, work.focus, doubt)
    elif doubt.reason == "scale" and doubt.slot == "core_c":
        slots = _falling(work, work.focus, doubt)
    if slots is None:
        return understood
    settled = replace(main, slots={**main.slots, **slots})
    return replace(understood, heard=(settled, *understood.heard[1:]), doubts=understood.doubts[1:])


#: A core that cools does not rise: this much allows for the probe.
_RISE_K = 3.0


def _falling(work: Work, file: BatchFile, doubt: Doubt) -> Mapping[str, Any] | None:
    """The only scale in which a core that is cooling has not risen."""
    plan = work.plan(file)
    cores = plan.batch.values("core_c")
    if not plan.coolings or not cores:
        return None
    last = float(cores[-1].slots["core_c"])
    fits = [slots for _, slots in doubt.options if float(slots["core_c"]) <= last + _RISE_K]
    if len(fits) == 1:
        return fits[0]
    usual = {"us": " °F", "metric": " °C"}.get(context_of(work, "").units or "")
    if usual is None or len(work.chat.memory.get("scales", ())) > 1:
        return None
    return next((slots for label, slots in doubt.options if label.endswith(usual)), None)


def _soonest(work: Work, file: BatchFile, doubt: Doubt) -> Mapping[str, Any] | None:
    """The hour that a question means: the first one from when the stage is planned to end.

    Nothing is stored of a question, and the answer says which hour it took.
    """
    plan = work.plan(file)
    row = plan.stage(plan.now.stage)
    end = row.end - timedelta(hours=1) if row is not None and not row.done else work.now
    moments = sorted((datetime.fromisoformat(slots[doubt.slot]), i) for i, (_, slots) in enumerate(doubt.options))
    ahead = [i for at, i in moments if at >= max(end, work.now)] or [i for at, i in moments if at >= work.now]
    return doubt.options[ahead[0]][1] if ahead else None


def _named(work: Work, heard: Heard) -> BatchFile | None:
    if heard.batch is None:
        return None
    return next((f for f in work.running if f.name.casefold() == heard.batch.casefold()), None)


_ORDER = {"setting": 0, "describe": 1, "correct": 2, "event": 3, "reading": 4, "ask": 5, "chat": 6}


def _at_no_time(heard: Heard, doubt: Doubt | None) -> bool:
    """True for what happened at a time that is in doubt: it is not taken as of now."""
    return doubt is not None and doubt.slot == "at" and heard.intent in ("event", "reading") and "at" not in heard.slots


def _each_once(heard: Sequence[Heard]) -> list[Heard]:
    """A figure that one message repeats is one reading."""
    return [h for i, h in enumerate(heard) if all(h.slots != earlier.slots for earlier in heard[:i])]


def _beside(main: Heard, doubt: Doubt) -> dict[str, Any]:
    """What was said beside the value in doubt and goes with whatever it turns out to be."""
    if _at_no_time(main, doubt):
        return dict(main.slots)
    return {k: v for k, v in main.slots.items() if k in ("at", "lot")} if main.intent == "reading" else {}


def _meant(heard: Heard) -> str:
    """The intent; an offered answer that was typed comes as a description, whatever it answers."""
    return "event" if heard.intent == "describe" and {"stage", "what"} & heard.slots.keys() else heard.intent


def _in_order(heard: Sequence[Heard]) -> list[Heard]:
    """What is told before what is asked, so that the answer knows it; chat only where nothing else is said."""
    useful = [h for h in heard if h.intent != "chat"] or list(heard[:1])
    return sorted(useful, key=lambda h: _ORDER.get(h.intent, 9))


def _asks(parts: Sequence[Part]) -> bool:
    return any(fact.get("kind") == "question" for part in parts for fact in part.facts)


def _write_alike(work: Work, understood: Understood) -> None:
    """Answer in the measures that people write in, until they say which they want."""
    if work.chat.units is None and understood.measures is not None:
        work.habit(units=understood.measures)
        work.remember(**{UNITS_AS_WRITTEN: True})


def _note(work: Work, understood: Understood, text: str) -> None:
    """Words that changed nothing belong to the record as well."""
    file = work.focus
    quiet = all(h.intent in ("ask", "chat", "setting") for h in understood.heard)
    if file is not None and quiet and text.strip() and file.number not in work.added:
        work.add(file, Kind.MESSAGE, {}, words=text[:_LONGEST])
    scales = set(work.chat.memory.get("scales", ()))
    if understood.scales - scales:
        work.remember(scales=sorted(scales | understood.scales))


def _remember_last(work: Work, sender: str, understood: Understood) -> None:
    main = understood.heard[0]
    if main.intent in ("describe", "reading", "event") and main.slots:
        last = dict(work.chat.memory.get("last", {}))
        last[sender] = {"intent": main.intent, "slots": dict(main.slots)}
        work.remember(last=last)


def _called(work: Work, means: Mapping[str, Any]) -> dict[str, Any]:
    """The reminder that a button stood under."""
    key, number = means.get("ring"), means.get("batch")
    rung = work.chat.memory.get("rung") or {}
    if rung.get("key") == key and rung.get("batch") == number:
        return dict(rung)
    return {"key": key, "batch": number, "what": means.get("what", "remind")}


def _answered(work: Work, means: Mapping[str, Any]) -> None:
    """A button under a reminder answers it."""
    key, number = means.get("ring"), means.get("batch")
    if key is None or number not in work.files or "snooze_min" in means or "on_it" in means:
        return
    work.add(work.files[number], Kind.ANSWERED, {"key": key})
    work.remember(rung=None)


def _heard_fact(understood: Understood) -> dict[str, Any]:
    first, *others = [_heard_one(h) for h in understood.heard]
    return {**first, "also": others} if others else first


def _heard_one(heard: Heard) -> dict[str, Any]:
    found: dict[str, Any] = {"intent": heard.intent, "slots": dict(heard.slots)}
    if heard.topic:
        found["topic"] = heard.topic
    return found


def _pressed_fact(means: Mapping[str, Any]) -> dict[str, Any]:
    return {"intent": str(means.get("intent", "chat")), "slots": dict(means.get("slots", {}))}


def _finish(work: Work, parts: Sequence[Part], heard: Mapping[str, Any] | None) -> Outcome:
    message = message_of(parts)
    for number in [n for n, entries in work.added.items() if n in work.files and any(e.kind in _TOLD for e in entries)]:
        work.learn(work.files[number])
    if message is not None:
        work.say(message)
        _keep_answer(work, message.text)
    keep_evening_note(work)
    if work.with_cards:
        work.messages += cards(work)
    return work.outcome(heard)


#: What people tell: it may change what a packed batch teaches.
_TOLD = frozenset({Kind.DESCRIBE, Kind.READING, Kind.EVENT, Kind.CHOICE, Kind.VOID})


def _keep_answer(work: Work, text: str) -> None:
    """What was answered is in the journal too, where it is not there as a verdict or a plan."""
    for number, entries in list(work.added.items()):
        if number not in work.files or any(e.kind in (Kind.PLAN, Kind.VERDICT) for e in entries):
            continue
        work.add(work.files[number], Kind.MESSAGE, {"text": text}, who=BELL)
