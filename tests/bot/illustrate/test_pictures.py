"""Pictures of batches that were talked through: they show what was read, and they can be read."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from bot.illustrate.card import card_picture
from bot.illustrate.cook import cook_picture
from bot.illustrate.cool import cool_picture
from bot.illustrate.dry import dry_picture
from bot.illustrate.pictures import draw, worth_showing
from bot.illustrate.plan import plan_picture
from bot.illustrate.soak import soak_picture
from bot.pictures.card import draw_card
from bot.pictures.cook import draw_cook
from bot.pictures.cool import draw_cool
from bot.pictures.dry import draw_dry
from bot.pictures.look import WIDTH
from bot.pictures.plan import draw_plan
from bot.pictures.soak import draw_soak
from planner.stages import Stage
from tests.bot.illustrate.story import LOST, TWO_LOTS, UNPROVEN, WHOLE, told
from tests.bot.pictures.seen import curves_cut, cut, overlaps, small

NOWHERE = Path("/nowhere")
#: What people look at, and when.
LOOKS = {
    "plan": ("planned", "floor", "out", "packed"),
    "soak": ("planned", "begun", "soaking", "packed"),
    "dry": ("racked", "damp", "packed"),
    "cook": ("smoking", "floor", "packed"),
    "cool": ("out", "first leg", "packed"),
    "card": ("out", "noted"),
}
FIGURE = {
    "plan": lambda case: draw_plan(plan_picture(case)),
    "soak": lambda case: draw_soak(soak_picture(case)),
    "dry": lambda case: draw_dry(dry_picture(case)),
    "cook": lambda case: draw_cook(cook_picture(case)),
    "cool": lambda case: draw_cool(cool_picture(case)),
    "card": lambda case: draw_card(card_picture(case, NOWHERE)),
}
EVERY = [(what, WHOLE, name, "metric") for what, names in LOOKS.items() for name in names]
EVERY += [(what, TWO_LOTS, "small out", "us") for what in LOOKS]
EVERY += [(what, UNPROVEN, "packed", "us") for what in ("plan", "cook", "cool", "card")]
EVERY += [(what, LOST, "too slow", "metric") for what in ("cool", "card")]


@pytest.mark.parametrize(
    ("what", "lines", "name", "units"), EVERY, ids=[f"{w}-{n}-{len(lines)}-{u}" for w, lines, n, u in EVERY]
)
def test_a_picture_can_be_read(what: str, lines: tuple[tuple[str, float, str], ...], name: str, units: str) -> None:
    case = told(lines, units).cases[name]
    assert worth_showing(what, case.plan)
    figure = FIGURE[what](case)
    least = 14 * WIDTH / 360  # a chat's letters on a screen 360 pixels wide
    assert [*overlaps(figure), *cut(figure), *small(figure, least), *curves_cut(figure)] == []


def test_what_has_not_begun_is_not_shown() -> None:
    case = told(WHOLE).cases["planned"]
    assert [what for what in LOOKS if not worth_showing(what, case.plan)] == ["dry", "cook", "cool", "card"]


def test_every_picture_is_made_as_a_png() -> None:
    case = told(WHOLE).cases["packed"]
    assert all(draw(what, case, NOWHERE).startswith(b"\x89PNG") for what in LOOKS)
    with pytest.raises(ValueError, match="no picture"):
        draw("tide", case, NOWHERE)


def test_the_smoke_shows_what_was_read_and_what_is_expected() -> None:
    case = told(WHOLE).cases["floor"]
    cook = cook_picture(case)
    (lot,) = cook.lots
    assert [p.value for p in lot.core_c] == [55.0, 66.0]
    assert [p.value for p in cook.chamber_c] == [88.0, 90.0]
    # decision 1: floor 62.8 °C, aim 71.1 °C, 30 min each, less the half digit that a reading's rounding may hide
    assert (cook.floor_c, cook.aim_c) == (pytest.approx(62.8, abs=0.05), pytest.approx(71.1, abs=0.05))
    assert cook.hold_min == 30
    assert all(p.low <= p.mid <= p.high for p in lot.forecast_c)
    assert abs(lot.forecast_c[0].at - case.now) <= timedelta(minutes=5)
    assert lot.forecast_c[0].mid == pytest.approx(66.0, abs=3.0)  # a probe's error apart
    assert lot.done is not None
    assert lot.forecast_c[-1].at <= lot.done.p50 + timedelta(minutes=20)


def test_a_hold_that_is_over_has_no_forecast() -> None:
    (lot,) = cook_picture(told(WHOLE).cases["packed"]).lots
    assert (lot.forecast_c, lot.done) == ((), None)
    assert [p.value for p in lot.core_c] == [55.0, 66.0, 72.0, 74.0]
    assert lot.aim_held_min == pytest.approx(30.6, abs=0.1)  # 0.51 h from 72 to 74 °C


def test_lots_are_told_apart() -> None:
    cook = cook_picture(told(TWO_LOTS).cases["small out"])
    assert {lot.name: [p.value for p in lot.core_c] for lot in cook.lots} == {
        "Small ones": [60.0, 72.0, 74.0],
        "Large ones": [41.0, 63.0],
    }
    assert plan_picture(told(TWO_LOTS).cases["small out"]).lots == ("Small ones", "Large ones")


def test_a_lot_that_is_out_does_not_end_the_smoke_of_another() -> None:
    case = told(TWO_LOTS).cases["small out"]
    ends = {s.lot: s.end for s in plan_picture(case).stages if s.stage is Stage.SMOKE}
    assert ends["Small ones"] == case.now
    assert ends["Large ones"] > case.now


def test_the_cooling_is_due_two_and_six_hours_after_it_was_last_hot() -> None:
    """60 °C to 21.1 °C in 2 h, 4.4 °C in 6 h of the start (AFDO smoked fish practices, continuous cooling)."""
    looked = told(WHOLE)
    hot = looked.cases["hot"].now
    cool = cool_picture(looked.cases["first leg"])
    assert [(d.at - hot) / timedelta(hours=1) for d in cool.deadlines] == [2.0, 6.0]
    assert [d.core_c for d in cool.deadlines] == [21.1, 4.4]
    assert [d.met_at for d in cool.deadlines] == [looked.cases["first leg"].now, None]
    (lot,) = cool.lots
    assert [p.value for p in lot.core_c] == [74.0, 24.0, 19.0]
    assert lot.forecast_c[0].mid == 19.0
    assert all(a.mid >= b.mid for a, b in pairwise(lot.forecast_c))


def test_a_cooling_that_was_missed_is_not_called_met() -> None:
    cool = cool_picture(told(LOST).cases["too slow"])
    assert [d.met_at for d in cool.deadlines] == [None, None]


def test_salt_is_highest_where_it_comes_in_and_grows_until_the_pull() -> None:
    soak = soak_picture(told(WHOLE).cases["soaking"])
    assert soak.faces == ("skin", "flesh")
    assert (soak.now_profile[0].depth_mm, soak.now_profile[-1].depth_mm) == (0.0, 22.0)
    for profile in (soak.now_profile, soak.pull_profile):
        assert all(a.wps_pct <= b.wps_pct for a, b in pairwise(profile))
    means = [np.trapezoid([p.wps_pct for p in profile], [p.depth_mm for p in profile]) / 22.0
             for profile in (soak.now_profile, soak.pull_profile)]  # fmt: skip
    assert means[0] < means[1]
    # salt comes in through the cut sides as well: the whole piece has more than the line through its middle
    assert means[1] <= soak.mean_pct[-1].mid + 0.05
    assert soak.mean_pct[0].mid == 0.0
    assert all(a.mid < b.mid for a, b in pairwise(soak.mean_pct))


def test_fish_that_is_not_in_yet_has_no_salt() -> None:
    soak = soak_picture(told(WHOLE).cases["planned"])
    assert {p.wps_pct for p in soak.now_profile} == {0.0}


def test_the_drying_ends_at_the_tacky_skin() -> None:
    case = told(WHOLE).cases["damp"]
    dry, row = dry_picture(case), case.plan.stage(Stage.DRY)
    assert row is not None
    assert [p.value for p in dry.mass_g] == [2600.0, 2575.0]
    assert [t.surface for t in dry.touches] == ["damp"]
    assert (dry.air_c, dry.rh_pct) == (12.0, 60.0)
    assert dry.pellicle is not None
    assert dry.forecast_g[-1].at == row.end == dry.pellicle.p50
    assert dry.forecast_g[0].mid == 2575.0
    (clock,) = dry.clocks
    assert clock.spent_at == case.now + timedelta(hours=clock.limit_h - clock.used_h)


def test_what_is_over_is_shown_as_of_its_end() -> None:
    looked = told(WHOLE)
    case = looked.cases["packed"]
    assert cook_picture(case).now == looked.cases["out"].now
    assert cool_picture(case).now == looked.cases["cold"].now
    assert dry_picture(case).now == looked.cases["smoking"].now
    assert soak_picture(case).now == looked.cases["soaked"].now


def test_the_card_tells_the_batch() -> None:
    card = card_picture(told(WHOLE).cases["noted"], NOWHERE)
    assert (card.raw_g, card.done_g, card.wood) == (2600.0, 2130.0, "alder")
    assert card.hottest_core_c == 74.0
    assert card.note == "skin came off cleanly"
    assert card.cautions == ()
    assert [s.stage for s in card.stages] == [Stage.SOAK, Stage.DRY, Stage.SMOKE, Stage.COOL, Stage.CHILL]
    assert all(a.end <= b.start for a, b in pairwise(card.stages))


def test_the_card_of_a_lost_batch_says_so_first_and_gives_no_date() -> None:
    card = card_picture(told(LOST).cases["too slow"], NOWHERE)
    assert card.cautions[0].endswith("do not eat or pack it")
    assert (card.keep_by, card.keep_how) == (None, "")


def test_the_plan_marks_the_limits_that_run() -> None:
    looked = told(WHOLE)
    cooling = plan_picture(looked.cases["out"])
    (limit,) = cooling.limits
    assert (limit.stage, limit.at) == (Stage.COOL, looked.cases["hot"].now + timedelta(hours=2))
    assert "21.1 °C / 70 °F" in limit.says
    (hold,) = plan_picture(looked.cases["aim"]).limits
    # decision 2: no gap over 35 min between the readings of a hold
    assert hold.at == looked.cases["aim"].now + timedelta(minutes=35)
