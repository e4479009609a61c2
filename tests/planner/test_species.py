"""Species against the published figures that their rows quote."""

from __future__ import annotations

import pytest

from planner import species as fish
from planner.sources import sources, table
from planner.species import Flag, UnknownSpecies

ALL = fish.species_keys() + fish.group_keys()
#: Keys that the contract with the outside names.
NAMED = {
    "king_salmon", "sockeye_salmon", "coho_salmon", "pink_salmon", "chum_salmon", "atlantic_salmon", "steelhead",
    "rainbow_trout", "lake_trout", "arctic_char", "yellowfin_tuna", "albacore", "atlantic_mackerel",
    "spanish_mackerel", "bluefish", "herring", "sablefish", "whitefish", "sturgeon",
    "salmon", "trout", "tuna", "mackerel",
}  # fmt: skip


@pytest.mark.parametrize("key", ALL)
def test_every_key_has_flesh_and_hazards(key: str) -> None:
    found = fish.species(key)
    assert 0.5 < found.composition.water < 0.9
    assert 0.0 < found.composition.protein < 0.3
    assert found.citations
    assert all(citation.text() for citation in found.citations)


def test_keys_are_unique_and_named_ones_are_there() -> None:
    assert len(set(ALL)) == len(ALL)
    assert set(ALL) >= NAMED


def test_groups_have_members_and_members_groups() -> None:
    used = {word for key in fish.species_keys() for word in fish.species(key).families}
    assert used == set(fish.group_keys())


@pytest.mark.parametrize("key", fish.group_keys())
def test_a_group_has_every_hazard_of_its_members(key: str) -> None:
    group = fish.species(key)
    members = [m for m in map(fish.species, fish.species_keys()) if key in m.families]
    for hazard in ("histamine", "parasites", "farmed_parasites", "ciguatera"):
        assert getattr(group, hazard) == any(getattr(member, hazard) for member in members)
    waters = [member.composition.water for member in members]
    assert min(waters) <= group.composition.water <= max(waters)


@pytest.mark.parametrize(
    ("key", "histamine"),
    [
        # FDA Hazards Guide, ch. 7, and MPI New Zealand, list of histamine-susceptible fish: named there.
        ("mahi_mahi", True), ("bluefish", True), ("marlin", True), ("atlantic_mackerel", True), ("sardine", True),
        ("atlantic_herring", True), ("jack_mackerel", True), ("amberjack", True), ("yellowtail", True),
        # Salmon, cod and their like are on none of the lists.
        ("king_salmon", False), ("atlantic_cod", False), ("sablefish", False), ("rainbow_trout", False),
        # A review names it, the FDA's table as remembered does not: the stricter decides.
        ("mullet", True),
        # Not on the list as remembered, uncertain.
        ("swordfish", True),
    ],
)  # fmt: skip
def test_histamine_as_published(key: str, histamine: bool) -> None:
    assert fish.species(key).histamine is histamine


@pytest.mark.parametrize(
    ("key", "flag"),
    [
        # Food Code 3-402.11(B): tuna that are named need no freezing.
        ("yellowfin_tuna", Flag.EXEMPT), ("albacore", Flag.EXEMPT), ("bigeye_tuna", Flag.EXEMPT),
        ("skipjack", Flag.UNCERTAIN), ("pacific_bluefin_tuna", Flag.UNCERTAIN),
        ("coho_salmon", Flag.YES), ("pacific_halibut", Flag.YES),
    ],
)  # fmt: skip
def test_parasites_as_published(key: str, flag: Flag) -> None:
    assert fish.species(key).parasite_flag is flag
    assert fish.species(key).parasites is (flag in (Flag.YES, Flag.UNCERTAIN))


@pytest.mark.parametrize("key", ["atlantic_salmon", "rainbow_trout", "tilapia", "catfish"])
def test_pellet_fed_farmed_fish_needs_no_freezing(key: str) -> None:
    """Food Code 3-402.11(B); EFSA 2024."""
    assert fish.species(key).farmed_parasites is False


@pytest.mark.parametrize("key", ["king_mackerel", "amberjack", "great_barracuda", "grouper", "snapper"])
def test_ciguatera_as_published(key: str) -> None:
    """FDA, retail HACCP manual, Annex 2."""
    assert fish.species(key).ciguatera


def test_where_sources_part_a_decision_stands() -> None:
    parted = {"mullet": "histamine", "skipjack": "parasites", "atlantic_bluefin_tuna": "parasites"}
    for row in table("species_hazards"):
        if parted.get(row["species"]) == row["hazard"]:
            assert row["decision"], row


def test_every_hazard_row_names_a_fish_and_a_source() -> None:
    keys = set(fish.species_keys())
    for row in table("species_hazards"):
        assert row["species"] in keys
        assert row["source"] in sources()
        assert row["hazard"] in {"histamine", "parasites", "farmed_parasites", "ciguatera"}


@pytest.mark.parametrize(
    ("key", "water_pct", "fat_pct"),
    [
        # USDA Standard Reference: NDB 15081, 15236, 15015 (two printed decimals, sums 101.42, 99.86, 100.86).
        ("coho_salmon", 72.66 / 1.0142, 5.93 / 1.0142),
        ("atlantic_salmon", 64.89 / 0.9986, 13.42 / 0.9986),
        ("atlantic_cod", 81.22 / 1.0086, 0.67 / 1.0086),
    ],
)
def test_composition_as_published(key: str, water_pct: float, fat_pct: float) -> None:
    found = fish.species(key).composition
    assert 100 * found.water == pytest.approx(water_pct, abs=0.01)
    assert 100 * found.fat == pytest.approx(fat_pct, abs=0.01)


def test_a_composition_that_stands_in_says_so() -> None:
    found = fish.species("lake_trout")
    assert found.composition_stands_in
    assert any("stands in" in note for note in found.notes)
    assert not fish.species("coho_salmon").composition_stands_in


def test_the_unknown_fish_is_the_worse_case_and_unknown_keys_are_refused() -> None:
    unknown = fish.unknown_species()
    assert unknown.histamine
    assert unknown.parasites
    assert unknown.farmed_parasites
    with pytest.raises(UnknownSpecies, match="moonfish"):
        fish.species("moonfish")
