"""The real conversation over the loopback Bot API: a batch described, asked about, corrected."""

from __future__ import annotations

from pathlib import Path

from bot.conversation import Conversation
from planner.entries import Kind
from tests.telegram.harness import answers, picture, running
from tests.telegram.standin import StandIn

BATCH = "4 lb coho fillets 1 inch thick skin on, 1 cup kosher per gallon, going in the brine now"


async def test_a_batch_is_planned_asked_about_and_kept(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Conversation(), tmp_path) as store:
        world.says(ann, "/start")
        await answers(telegram, ann)
        world.says(ann, BATCH)
        plan = (await answers(telegram, ann, 2))[1]
        assert 1 <= len(plan.labels) <= 4
        pressed = plan.labels[0]
        query = world.presses(ann, plan, pressed)
        await answers(telegram, ann, 3)
        await world.until(lambda: plan.labels == [f"✓ {pressed}"] and world.queries[query] is not None)
        world.shows(ann, picture(), caption="fridge 3 C")
        await answers(telegram, ann, 4)
        batch = await store.batch(str(ann.id), 1)
    assert batch is not None
    photos = [entry.data["photo"] for entry in batch.entries if "photo" in entry.data]
    assert [(tmp_path / path).is_file() for path in photos] == [True]
    fridge = [e.data["fridge_c"] for e in batch.entries if e.kind is Kind.READING and "fridge_c" in e.data]
    assert fridge == [3.0]


async def test_a_restart_in_between_forgets_nothing(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Conversation(), tmp_path):
        world.says(ann, BATCH)
        await answers(telegram, ann)
    world.says(ann, "what's next")
    async with running(telegram, Conversation(), tmp_path):
        said = await answers(telegram, ann, 2)
    assert "brine" in said[1].text


async def test_any_message_at_all_is_answered_or_let_be_and_the_next_is_heard(
    telegram: StandIn, tmp_path: Path
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    odd = [
        "x" * 4096,
        "🐟🐟🐟",
        "Сёмга, 2 кг",
        "-3 kg",
        "core 300 C",
        "12",
        "'; drop table chats; --",
        "\u202e\u2066 ?",
    ]
    async with running(telegram, Conversation(), tmp_path) as store:
        for text in odd:
            world.says(ann, text)
        world.says(ann, BATCH)
        await world.until(lambda: any("brine" in note.text for note in world.said(ann)), 20)
        assert await store.aside() == []
