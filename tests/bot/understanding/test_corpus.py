"""Every message of the corpus is heard as it is meant."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from bot.understanding import understand
from tests.bot.understanding.corpus import Case, cases, contexts, heard_of


@pytest.mark.parametrize("case", cases(), ids=lambda c: f"{c.file}:{c.context}:{c.said[:60]}")
def test_heard_as_meant(case: Case) -> None:
    context = contexts()[case.context]
    told = understand(case.said, context)
    wanted = [heard_of(line, ZoneInfo(context.zone)) for line in case.heard]
    got = [(h.intent, h.topic, dict(h.slots)) for h in told.heard]
    assert got == [(w.intent, w.topic, dict(w.slots)) for w in wanted]
    assert {d.slot for d in told.doubts} == set(case.doubts)


def test_the_corpus_is_as_large_as_promised() -> None:
    told = [c for c in cases() if c.heard != ("chat",)]
    silent = [c for c in cases() if c.heard == ("chat",)]
    assert len({(c.context, c.said) for c in told}) >= 500
    assert len({(c.context, c.said) for c in silent}) >= 200


@pytest.mark.parametrize("name", sorted(contexts()))
def test_talk_tells_nothing_that_opens_a_gate(name: str) -> None:
    """Talk about other things is no hot core, no end of a stage and no going on, whatever the batch is at."""
    for case in cases("negative_talk"):
        for heard in understand(case.said, contexts()[name]).heard:
            assert heard.slots.get("core_c", 0.0) < 55.0, case.said
            assert not set(heard.slots) & {"override", "done", "wps_pct"}, case.said
