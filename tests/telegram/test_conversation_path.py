"""The way of a message, whole, over HTTP on loopback: in, stored, answered, out."""

from __future__ import annotations

import asyncio
import io
import socket
import time
from pathlib import Path

import httpx
from PIL import Image

from tests.telegram import faults
from tests.telegram.harness import Lines, answers, failure, picture, running
from tests.telegram.parrot import Parrot
from tests.telegram.standin import StandIn


async def test_text_in_text_and_buttons_out(telegram: StandIn, tmp_path: Path) -> None:
    ann = telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path):
        telegram.world.says(ann, "4 lb coho")
        [note] = await answers(telegram, ann)
    assert (note.text, note.labels) == ("1: heard 4 lb coho", ["Done", "Why?"])
    [inbound] = parrot.seen
    assert (inbound.sender_name, inbound.chat_kind) == ("Ann", "private")


async def test_a_press_is_answered_acknowledged_and_shown_as_taken(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "hello")
        [note] = await answers(telegram, ann)
        before = [dict(button) for row in note.keyboard for button in row]
        query = world.presses(ann, note, "Why?")
        [_, reply] = await answers(telegram, ann, 2)
        await world.until(lambda: note.labels == ["✓ Why?"])
    assert reply.text == "pressed Why? {'do': 'why'}"
    assert world.queries[query] is not None
    assert all(len(button["callback_data"].encode()) <= 64 for button in before)


async def test_a_button_pressed_again_says_so(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "hello")
        [note] = await answers(telegram, ann)
        world.presses(ann, note, "Done")
        await world.until(lambda: note.labels == ["✓ Done"])
        await answers(telegram, ann, 2)
        again = world.presses(ann, note, "✓ Done")
        said = await answers(telegram, ann, 3)
        await world.until(lambda: world.queries[again])
    assert [n.text for n in said[1:]] == ["pressed Done {'do': 'done'}", "taken already Done {'do': 'done'}"]
    assert note.labels == ["✓ Done"]


async def test_a_forged_button_presses_nothing_in_another_chat(telegram: StandIn, tmp_path: Path) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann"), telegram.world.person("Bo")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "hello")
        world.says(bo, "hello")
        [anns], [bos] = await answers(telegram, ann), await answers(telegram, bo)
        anns_data = anns.keyboard[0][0]["callback_data"]
        for count, data in enumerate([anns_data, "999999:0", "1:99", "anything", "'; drop table outbox"], 2):
            world.forges(bo, bos, data)
            said = await answers(telegram, bo, count)
            assert said[-1].text == "no such button"
        assert len(world.said(ann)) == 1


async def test_the_same_update_twice_counts_once(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path):
        world.says(ann, "first")
        await answers(telegram, ann)
        await world.until(lambda: world.served)
        world.again(world.served[0])
        world.says(ann, "second")
        said = await answers(telegram, ann, 2)
    assert [n.text for n in said] == ["1: heard first", "2: heard second"]
    assert len(parrot.seen) == 2


async def test_messages_of_a_chat_are_answered_in_order(telegram: StandIn, tmp_path: Path) -> None:
    world, people = telegram.world, [telegram.world.person(name) for name in ("Ann", "Bo", "Cy")]
    for number in range(4):
        for who in people:
            world.says(who, f"m{number}")
    async with running(telegram, Parrot(), tmp_path):
        for who in people:
            said = await answers(telegram, who, 4)
            assert [n.text for n in said] == [f"{i + 1}: heard m{i}" for i in range(4)]


async def test_a_reminder_is_delivered_at_its_time(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        asked = time.time()
        world.says(ann, "remind 0.3 rotate the racks")
        said = await answers(telegram, ann, 2)
    assert [n.text for n in said] == ["will do", "ring rotate the racks"]
    assert said[1].labels == ["Done", "Why?"]
    assert time.time() >= asked + 0.3


async def test_a_picture_that_is_sent_is_kept_without_its_place(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    exif = Image.Exif()
    exif[0x010F] = "N 59 20"
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "blue").save(out, "JPEG", exif=exif)
    async with running(telegram, parrot := Parrot(), tmp_path):
        world.shows(ann, out.getvalue(), caption="surface tacky")
        [note] = await answers(telegram, ann)
    assert note.text == "kept surface tacky"
    photo = parrot.seen[0].photo
    assert photo is not None
    kept = (tmp_path / photo.path).read_bytes()
    assert b"N 59 20" in out.getvalue()
    assert b"N 59 20" not in kept
    with Image.open(io.BytesIO(kept)) as image:
        assert image.size == (60, 40)


async def test_a_picture_that_cannot_be_kept_gets_a_line_and_the_rest_goes_on(
    telegram: StandIn, tmp_path: Path
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path):
        world.shows(ann, b"\xff\xd8 broken", caption="core 63")
        world.sends_file(ann, "big.jpg", "image/jpeg", b"x", size=50 * 1024 * 1024)
        world.sends_file(ann, "photo.jpg", "image/jpeg", b"%PDF-1.7 a document")
        world.says(ann, "hello")
        await world.until(lambda: len(world.said(ann)) == 5)
    said = [n.text for n in world.said(ann)]
    assert said.count(Lines().picture_not_kept()) == 3
    assert [i.text for i in parrot.seen] == ["core 63", "hello"]
    assert all(i.photo is None for i in parrot.seen)


async def test_a_voice_note_gets_a_line(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path):
        world.sends_file(ann, "note.ogg", "audio/ogg", b"x")
        [note] = await answers(telegram, ann)
    assert note.text == Lines().only_words_and_pictures()
    assert parrot.seen == []


async def test_nobody_waits_for_somebody_elses_picture(telegram: StandIn, tmp_path: Path) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann"), telegram.world.person("Bo")
    telegram.fault("getFile", faults.hanging(30))
    world.shows(ann, picture(), caption="slow")
    world.says(bo, "quick")
    async with running(telegram, Parrot(), tmp_path, answer_within_s=1.0):
        [note] = await answers(telegram, bo)
        assert world.said(ann) == []
        said = await answers(telegram, ann, 2)
    assert note.text == "1: heard quick"
    assert sorted(n.text for n in said) == ["1: heard slow", Lines().picture_not_kept()]


async def test_pictures_and_documents_go_out(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    (tmp_path / "plan.png").write_bytes(picture(form="PNG"))
    (tmp_path / "strip.png").write_bytes(picture(size=(3000, 30), form="PNG"))
    (tmp_path / "record.csv").write_text("at,what\n")
    files = ("plan.png", "strip.png", "record.csv", "missing.pdf")
    async with running(telegram, Parrot(files=files), tmp_path):
        world.says(ann, "files Here is the plan")
        plan, strip, record = await answers(telegram, ann, 3)
    assert (plan.text, plan.labels, "photo" in plan.body) == ("Here is the plan", [], True)
    assert (strip.labels, strip.body["document"]["file_name"]) == ([], "strip.png")
    assert (record.labels, record.body["document"]["file_name"]) == (["Done", "Why?"], "record.csv")


async def test_a_long_text_goes_out_in_parts_with_the_buttons_last(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "long")
        said = await answers(telegram, ann, 3)
    lines = "\n".join(n.text for n in said).splitlines()
    assert [line.partition(":")[0] for line in lines] == [str(number) for number in range(100)]
    assert [n.labels for n in said] == [[], [], ["Done", "Why?"]]


async def test_the_card_is_pinned_once_and_edited_in_place(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "card soaking")
        [card] = await answers(telegram, ann)
        world.says(ann, "card drying")
        await world.until(lambda: card.text == "drying")
        world.says(ann, "hello")
        await answers(telegram, ann, 2)
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "card smoking")
        await world.until(lambda: card.text == "smoking")
        world.presses(ann, card, "Done")
        said = await answers(telegram, ann, 3)
    assert said[2].text.startswith("pressed Done")
    assert world.rooms[ann.id].pinned == [card.id]


async def test_a_card_that_says_the_same_again_is_no_trouble(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        for _ in range(2):
            world.says(ann, "card soaking")
        world.says(ann, "hello")
        said = await answers(telegram, ann, 2)
    assert [n.text for n in said] == ["soaking", "1: heard hello"]


async def test_a_deleted_card_is_made_anew(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "card soaking")
        [card] = await answers(telegram, ann)
        await world.until(lambda: world.rooms[ann.id].pinned == [card.id])
        world.removes(card)
        world.says(ann, "card drying")
        [new] = await answers(telegram, ann)
        await world.until(lambda: world.rooms[ann.id].pinned == [new.id])
    assert new.text == "drying"


async def test_a_card_that_may_not_be_pinned_is_there_all_the_same(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    crew = world.group("The crew", can_pin=False)
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "card soaking", crew)
        [card] = await answers(telegram, crew)
        world.says(ann, "card drying", crew)
        await world.until(lambda: card.text == "drying")
        world.says(ann, "hello", crew)
        said = await answers(telegram, crew, 3)
    assert crew.pinned == []
    assert [n.text for n in said] == ["drying", Lines().card_not_pinned(), "1: heard hello"]


async def test_in_a_group_with_privacy_a_mention_and_a_reply_are_heard(telegram: StandIn, tmp_path: Path) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann"), telegram.world.person("Bo")
    crew = world.group("The crew", privacy=True)
    async with running(telegram, parrot := Parrot(), tmp_path):
        world.says(ann, "nice weather", crew)
        world.says(ann, "@helper_bot core 63", crew)
        [note] = await answers(telegram, crew)
        world.says(bo, "rotated", crew, reply_to=note)
        await answers(telegram, crew, 2)
        world.presses(bo, note, "Done")
        await world.until(lambda: note.labels == ["✓ Done · Bo"])
        await answers(telegram, crew, 3)
    heard = [(i.sender_name, i.text, i.chat_kind) for i in parrot.seen]
    assert heard == [("Ann", "core 63", "group"), ("Bo", "rotated", "group"), ("Bo", "", "group")]


async def test_commands_are_plain_words(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    commands = (("help", "what to type"), ("next", "what comes next"))
    async with running(telegram, parrot := Parrot(), tmp_path, commands=commands):
        world.says(ann, "/start")
        world.says(ann, "/help@helper_bot")
        await answers(telegram, ann, 2)
    assert [i.text for i in parrot.seen] == ["start", "help"]
    assert world.commands == [{"command": word, "description": means} for word, means in commands]


async def test_an_edited_message_comes_as_a_correction(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path):
        note = world.says(ann, "core 114")
        await answers(telegram, ann)
        world.edits(ann, note, "core 141")
        await answers(telegram, ann, 2)
    assert [i.text for i in parrot.seen] == ["core 114", "no, core 141"]


async def test_any_text_passes_through(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    texts = ["x" * 4096, "🐟" * 2048, "\u202e\u0000\ud7ff", "Сёмга 2 кг", "'; drop table inbox; --"]
    async with running(telegram, parrot := Parrot(), tmp_path):
        for text in texts:
            world.says(ann, text)
        await world.until(lambda: len(parrot.seen) == len(texts))
    # No database takes a NUL; it may be replaced on the way.
    assert [i.text.replace("\0", "\ufffd") for i in parrot.seen] == [t.replace("\0", "\ufffd") for t in texts]


async def test_an_update_of_a_form_never_seen_holds_up_nothing(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    world.push({"message": {"message_id": "what?", "chat": []}})
    world.push({"message": None})
    world.says(ann, "hello")
    async with running(telegram, Parrot(), tmp_path):
        [note] = await answers(telegram, ann)
    assert note.text == "1: heard hello"


async def test_it_stops_when_told_to_while_waiting(telegram: StandIn, tmp_path: Path) -> None:
    async with asyncio.timeout(10):
        async with running(telegram, Parrot(), tmp_path):
            await telegram.world.until(lambda: telegram.world.called("getUpdates"))


async def test_health_and_metrics_are_shown_on_request(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    async with running(telegram, Parrot(), tmp_path, metrics_port=port), httpx.AsyncClient(trust_env=False) as client:
        world.says(ann, "a word in private")
        await answers(telegram, ann)
        health = await client.get(f"http://127.0.0.1:{port}/healthz")
        metrics = await client.get(f"http://127.0.0.1:{port}/metrics")
    assert health.status_code == 200
    assert "brinebell_" in metrics.text
    assert "a word in private" not in metrics.text


async def test_a_metrics_port_in_use_is_one_line(telegram: StandIn, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert f"cannot listen on port {port}" in await failure(telegram, tmp_path, metrics_port=port)
