"""Invented batches to draw: none of their figures is a check of anything."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from PIL import Image

from bot.pictures.habits import Habit
from bot.pictures.records import (
    BandPoint,
    CardPicture,
    Clock,
    CookLot,
    CookPicture,
    CoolLot,
    CoolPicture,
    Deadline,
    DryPicture,
    PlanLimit,
    PlannedStage,
    PlanPicture,
    Point,
    SaltAt,
    SaltMark,
    SoakPicture,
    StageSpan,
    Touch,
)
from planner.spread import Spread
from planner.stages import Stage
from planner.verdict import Eta

US = Habit("America/Vancouver", "us")
METRIC = Habit("Europe/Oslo", "metric")
T0 = datetime(2026, 9, 12, 0, 30, tzinfo=UTC)
LOTS = ("small", "medium", "large")
LONG = (
    "the thin tail pieces from the two smaller fish",
    "Großmutters dicke Mittelstücke, Θεσσαλονίκη, Владивосток",
    "bellies_without_any_space_that_could_break_the_line_anywhere",
)


def h(hours: float) -> datetime:
    """So many hours into the batch."""
    return T0 + timedelta(hours=hours)


def stage(kind: Stage, start: float, end: float, *slack: float, lot: str | None = None) -> PlannedStage:
    """A planned stage in hours from the start; ``slack`` is how much earlier and later it may end."""
    early, late = slack or (0.0, 0.0)
    return PlannedStage(kind, h(start), h(end), h(end - early), h(end + late), lot)


ONE_LOT = PlanPicture(
    US,
    h(9.2),
    "Coho belly, 4 lb",
    (
        stage(Stage.TRIM, 0, 0.5),
        stage(Stage.SOAK, 0.5, 12.5, 1, 2.5),
        stage(Stage.RINSE, 12.5, 12.75),
        stage(Stage.DRY, 12.75, 16, 0.7, 1.5),
        stage(Stage.SMOKE, 16, 19.5, 0.6, 1.2),
        stage(Stage.COOL, 19.5, 21.5, 0.4, 0.8),
        stage(Stage.CHILL, 21.5, 29),
        stage(Stage.PACK, 29, 29.5),
    ),
    limits=(
        PlanLimit(Stage.DRY, h(17.4), "4 h in the warm are spent"),
        PlanLimit(Stage.COOL, h(21.5), "70 °F or colder, else not safe to keep"),
    ),
)


def _three(names: tuple[str, ...], habit: Habit) -> PlanPicture:
    lots = [
        stage(kind, start + n * step, end + n * step * 1.5, 0.4, 0.9, lot=name)
        for n, name in enumerate(names)
        for kind, start, end, step in (
            (Stage.SMOKE, 18, 20.4, 0.0),
            (Stage.COOL, 20.4, 22.4, 0.9),
            (Stage.CHILL, 22.4, 33, 0.9),
        )
    ]
    shared = (
        stage(Stage.THAW, -9, 0, 1, 1),
        stage(Stage.TRIM, 0, 0.5),
        stage(Stage.SOAK, 0.5, 13, 1, 2),
        stage(Stage.RINSE, 13, 13.2),
        stage(Stage.REST, 13.2, 15),
        stage(Stage.DRY, 15, 18, 0.5, 1.2),
        stage(Stage.PACK, 36, 36.5),
    )
    return PlanPicture(habit, h(19), "Sockeye and pink, three sizes", (*shared, *lots), names, ONE_LOT.limits[1:])


SIGNS = "$5_{x}$ & 100 % \\n <b> {0} \u202e\n\t"

PLANS = {
    "signs": replace(ONE_LOT, title=SIGNS, lots=(SIGNS,), limits=(PlanLimit(Stage.DRY, h(16), SIGNS),)),
    "one_lot_us": ONE_LOT,
    "one_lot_metric": replace(ONE_LOT, habit=METRIC),
    "three_lots_us": _three(LOTS, US),
    "three_lots_metric": _three(LOTS, METRIC),
    "long_names": replace(_three(LONG, US), title=" and ".join(LONG)),
    "empty": PlanPicture(US, T0, "Something from the sea 🐟 鮭", ()),
    "one_short_stage": PlanPicture(METRIC, T0, "Quick", (stage(Stage.RINSE, 0, 0.1),)),
    "kept_for_weeks": replace(ONE_LOT, stages=(*ONE_LOT.stages, stage(Stage.KEEP, 29.5, 29.5 + 14 * 24))),
    "two_nights": replace(
        ONE_LOT,
        now=h(-48),
        habit=METRIC,
        stages=(
            stage(Stage.SALT, 0, 14, 2, 3),
            stage(Stage.REST, 14, 30, 3, 3),
            stage(Stage.DRY, 30, 34, 1, 2),
            stage(Stage.SMOKE, 34, 38, 1, 2),
            stage(Stage.KEEP, 40, 64),
        ),
        limits=(),
    ),
}


def points(start: float, step: float, *values: float) -> tuple[Point, ...]:
    """Values every ``step`` hours."""
    return tuple(Point(h(start + n * step), v) for n, v in enumerate(values))


def band(start: float, step: float, *mids: float, wide: float = 2.0) -> tuple[BandPoint, ...]:
    """A forecast that widens with every step."""
    return tuple(BandPoint(h(start + n * step), m - wide * n, m, m + wide * n) for n, m in enumerate(mids))


def eta(of: str, early: float, guess: float, late: float) -> Eta:
    """An expectation in hours from the start."""
    return Eta(of, h(early), h(guess), h(late))


SMALL = CookLot(
    "small", points(0, 0.5, 4, 21, 38, 52, 61, 64.5), band(2.5, 0.5, 64.5, 68, 71, 72.4, 73.4, wide=0.6),
    22, 0, None, eta("hold_end", 4.0, 4.3, 4.9),
)  # fmt: skip
MEDIUM = CookLot(
    "medium", points(0, 0.5, 3, 14, 28, 41, 50, 56), band(2.5, 0.5, 56, 61, 65, 68.5, 71, 73, wide=0.8),
    0, 0, eta("floor", 3.1, 3.3, 3.6), eta("hold_end", 4.9, 5.3, 6.1),
)  # fmt: skip
LARGE = CookLot(
    "large", points(0, 0.5, 3, 8, 16, 27, 36, 44), band(2.5, 0.5, 44, 51, 57, 62, 66, 69, 71, 72, wide=1.0),
    0, 0, eta("floor", 4.0, 4.4, 5.0), None,
)  # fmt: skip
CHAMBER = points(-0.2, 0.3, 20, 62, 78, 84, 85, 88, 83, 86, 85)

COOKS = {
    "one_lot_us": CookPicture(US, h(2.6), "Not yet: core 148 °F", (SMALL,), 62.8, 71.1, 30, CHAMBER),
    "three_lots_us": CookPicture(
        US, h(2.6), "Not yet: large at 111 °F", (SMALL, MEDIUM, LARGE), 62.8, 71.1, 30, CHAMBER
    ),
    "three_lots_metric": CookPicture(
        METRIC, h(2.6), "Not yet: large at 44 °C", (SMALL, MEDIUM, LARGE), 62.8, 71.1, 30, CHAMBER
    ),
    "long_names": CookPicture(
        METRIC,
        h(2.6),
        " and ".join(LONG),
        tuple(replace(lot, name=name) for lot, name in zip((SMALL, MEDIUM, LARGE), LONG, strict=True)),
        62.8,
        71.1,
        30,
        CHAMBER,
    ),
    "one_mark": CookPicture(
        US,
        h(2.6),
        "Hold: 22 of 30 min",
        (replace(SMALL, aim_held_min=22),),
        62.8,
        62.8,
        30,
        points(0, 1, 120, 130, 90),
    ),
    "no_readings": CookPicture(US, T0, "Smoke", (CookLot("all"),), 62.8, 71.1, 30),
    "no_lots": CookPicture(METRIC, T0, "Smoke", (), 62.8, 71.1, 30),
}

NOW_PROFILE = tuple(SaltAt(d, 0.2 + 5.2 * (d / 28) ** 3) for d in range(29))
PULL_PROFILE = tuple(SaltAt(d, 1.9 + 5.4 * (d / 28) ** 2) for d in range(29))
SOAK = SoakPicture(
    US, h(5), "Soak: can stay till 8 am", ("skin", "flesh"), NOW_PROFILE, PULL_PROFILE, h(13),
    tuple(BandPoint(h(n), 0.30 * n**0.9, 0.36 * n**0.9, 0.42 * n**0.9) for n in range(15)),
    tuple(Point(h(n), 0.004 * n**2.1) for n in range(15)),
    SaltMark(3.0, "medium taste 3 %"),
)  # fmt: skip
SOAKS = {
    "us": SOAK,
    "metric": replace(SOAK, habit=METRIC),
    "both_sides": replace(SOAK, faces=("flesh", "flesh"), mark=None, title="Steaks"),
    "long_words": replace(
        SOAK,
        title=" and ".join(LONG),
        faces=(LONG[0], LONG[1]),
        mark=SaltMark(3.5, "the least for airless packs, " + LONG[0]),
    ),
    "no_curve": replace(SOAK, mean_pct=(), core_pct=(), pull_profile=(), pull_at=None),
    "empty": SoakPicture(METRIC, T0, "Soak", ("skin", "flesh"), (), (), None),
}

CLOCKS = (
    Clock("In the warm since the catch, fish that can form histamine", 2.1, 4, h(4.4)),
    Clock("Growth band", 1.5, 5, h(40)),
)
DRY = DryPicture(
    US, h(2.5), "Not yet: damp. Look again at 8:45 pm", T0, points(0, 0.8, 1905, 1880, 1862, 1851),
    band(2.4, 0.5, 1851, 1842, 1835, 1829, wide=3), (Touch(h(0.1), "wet"), Touch(h(2.2), "damp")),
    eta("pellicle", 3.0, 3.6, 4.3), 13.5, 62, CLOCKS,
)  # fmt: skip
DRYINGS = {
    "us": DRY,
    "metric": replace(DRY, habit=METRIC),
    "light": replace(DRY, habit=METRIC, mass_g=points(0, 0.8, 640, 622, 611), forecast_g=()),
    "touch_only": replace(DRY, mass_g=(), forecast_g=(), clocks=CLOCKS[:1]),
    "long_words": replace(DRY, title=" and ".join(LONG), clocks=(replace(CLOCKS[0], says=" and ".join(LONG)),)),
    "one_weighing": replace(DRY, mass_g=points(0, 1, 1905), forecast_g=()),
    "empty": DryPicture(METRIC, T0, "Drying", T0),
}

DEADLINES = (Deadline(h(2), 21.1, h(1.8)), Deadline(h(6), 4.4))
COOL_LOTS = (
    CoolLot("small", points(0, 0.6, 60, 41, 27, 19.5), band(1.8, 0.7, 19.5, 13, 9, 6, 4, wide=0.5)),
    CoolLot("medium", points(0, 0.6, 64, 48, 34, 25), band(1.8, 0.7, 25, 18, 13, 9, 6.5, 5, wide=0.6)),
    CoolLot("large", points(0, 0.6, 66, 55, 43, 33), band(1.8, 0.7, 33, 25, 19, 15, 11, 8, 6, wide=0.7)),
)
COOLINGS = {
    "one_us": CoolPicture(US, h(1.9), "On time: 67 °F", T0, COOL_LOTS[:1], DEADLINES),
    "three_us": CoolPicture(US, h(1.9), "Large is late: ice or a fan", T0, COOL_LOTS, DEADLINES),
    "three_metric": CoolPicture(METRIC, h(2.2), "Large is late", T0, COOL_LOTS, (Deadline(h(2), 21.1), DEADLINES[1])),
    "long_names": CoolPicture(
        METRIC,
        h(1.9),
        " and ".join(LONG),
        T0,
        tuple(replace(lot, name=name) for lot, name in zip(COOL_LOTS, LONG, strict=True)),
        DEADLINES,
    ),
    "empty": CoolPicture(US, T0, "Cooling", T0, (), ()),
    "no_readings": CoolPicture(US, T0, "Cooling", T0, (CoolLot("all"),), DEADLINES),
}


def photo(wide: int = 900, tall: int = 1400, kind: str = "JPEG") -> bytes:
    """An invented photo."""
    picture = Image.linear_gradient("L").resize((wide, tall)).convert("RGB")
    buffer = io.BytesIO()
    picture.save(buffer, kind)
    return buffer.getvalue()


CARD = CardPicture(
    US, "Coho belly", "coho salmon", date(2026, 9, 12),
    (
        StageSpan(Stage.SOAK, h(0), h(12)), StageSpan(Stage.DRY, h(12), h(15)),
        StageSpan(Stage.SMOKE, h(15), h(18.6)),
        StageSpan(Stage.COOL, h(18.6), h(20.5)), StageSpan(Stage.CHILL, h(20.5), h(29)),
    ),
    1814, 1290, Spread(2.6, 3.1, 3.6), 72.4, 34, SMALL.core_c, CHAMBER, "alder", date(2026, 9, 26),
    "38 °F or colder", "Best yet. A touch less salt next time, and leave the tail pieces out earlier.",
)  # fmt: skip
CARDS = {
    "us": CARD,
    "metric": replace(CARD, habit=METRIC),
    "photo": replace(CARD, photo=photo()),
    "cautions": replace(
        CARD,
        cautions=(
            "Not shown to have been hot enough: eat none of it cold.",
            "Cooling was not shown in time.",
        ),
        note="",
    ),
    "long_words": replace(
        CARD,
        name=" and ".join(LONG),
        species=LONG[0],
        wood=LONG[2],
        note=" ".join(LONG) * 9,
        keep_how=LONG[1],
        cautions=LONG,
    ),
    "empty": CardPicture(METRIC, "Trout", "", date(2026, 9, 12)),
}
