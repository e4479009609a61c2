"""Every figure has a source, every disagreement a decision, every unread figure is known as such."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.sources import Status, sources
from tests.planner.data_entries import disagreements, entries, unread

ALL = list(entries())
#: Sources that are no work to be looked up, so that they have no place.
PLACELESS = {"ours", "common-practice"}


def test_every_entry_has_source_place_and_status() -> None:
    assert [e for e in ALL if e.source not in sources() or e.status not in set(Status)] == []
    assert [e for e in ALL if not e.place and e.source not in PLACELESS] == []


def test_our_own_and_the_trade_s_rules_are_called_so() -> None:
    assert [e for e in ALL if (e.source == "common-practice") != (e.status == Status.COMMON_PRACTICE)] == []
    assert [e for e in ALL if e.status == Status.OURS and e.source != "ours"] == []
    assert [e for e in ALL if e.status == Status.SEEN and e.source == "ours"] == []


@pytest.mark.parametrize("key", disagreements())
def test_every_disagreement_has_positions_and_a_decision(key: str) -> None:
    found = disagreements()[key]
    assert found["about"]
    assert found["decision"].endswith(".")
    assert found["positions"]
    for position in found["positions"]:
        assert position["says"]
        assert position["place"]
        assert position["source"] in sources()
        assert position["status"] in set(Status)


def test_rules_and_disagreements_name_each_other() -> None:
    assert {entry.disagreement for entry in ALL} - {None} == set(disagreements())


def test_every_source_has_a_title() -> None:
    assert all(source.title for source in sources().values())


def test_unread_figures_are_listed() -> None:
    """``tests/reference/unread_figures.txt`` lists what waits to be read in the source itself.

    A figure that was read is struck off, a new one added: python -m tests.planner.data_entries.
    """
    listed = Path(__file__).parent.parent / "reference" / "unread_figures.txt"
    assert listed.read_text(encoding="utf-8").splitlines() == unread()
