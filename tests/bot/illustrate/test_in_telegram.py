"""Over the loopback Bot API: pictures come as pictures, papers as files, and both go with the chat."""

from __future__ import annotations

from pathlib import Path

from bot.conversation import Conversation
from bot.illustrate import Illustrated
from tests.telegram.conftest import telegram  # noqa: F401 - a fixture
from tests.telegram.harness import answers, picture, running
from tests.telegram.standin import StandIn

BATCH = "4 lb coho fillets 1 inch thick skin on, going in the brine now"


async def test_a_picture_a_paper_and_their_end(telegram: StandIn, tmp_path: Path) -> None:  # noqa: F811
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Illustrated(Conversation(), tmp_path), tmp_path) as store:
        world.says(ann, BATCH)
        await answers(telegram, ann)
        world.says(ann, "show the plan")
        shown = (await answers(telegram, ann, 2))[1]
        assert shown.body["photo"][0]["width"] == 720
        assert shown.text == "Coho, the plan as it stands."
        assert shown.labels == ["As a calendar"]
        world.presses(ann, shown, "As a calendar")
        calendar = (await answers(telegram, ann, 3))[2]
        assert calendar.body["document"]["file_name"].startswith("calendar-")
        assert calendar.body["document"]["file_name"].endswith(".ics")
        world.shows(ann, picture(), caption="before rinsing")
        await answers(telegram, ann, 4)
        world.says(ann, "send me the record")
        record = (await answers(telegram, ann, 5))[4]
        name = record.body["document"]["file_name"]
        assert name.endswith(".pdf")
        assert (tmp_path / "shown").is_dir()
        pdf = next(path for path in (tmp_path / "shown").rglob("*.pdf") if path.name == name).read_bytes()
        assert pdf.count(b"/Subtype /Image") >= 2  # the salt, and the photo that was sent
        for count, words in enumerate(("delete everything", "Delete everything", "Yes, delete everything"), 6):
            world.says(ann, words)
            await answers(telegram, ann, count)
        assert await store.batch(str(ann.id), 1) is None
    assert not list((tmp_path / "shown").rglob("*.*"))
