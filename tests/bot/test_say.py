"""Numbers, quantities and times as they are written, against hand arithmetic.

Conversions: 1 lb = 453.592 g, 1 oz = 28.3495 g, 1 in = 25.4 mm, 1 US gallon = 3785.41 ml, °F = 1.8 °C + 32
(NIST Special Publication 811, appendix B).
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.say.format import Pen, hours, join, percent, span

NOON = datetime(2026, 9, 12, 19, tzinfo=UTC)  # Saturday noon in Vancouver
US = Pen(NOON, "America/Vancouver", "us")
METRIC = Pen(NOON, "Europe/Oslo", "metric")  # Saturday 21:00 there


@pytest.mark.parametrize(
    ("celsius", "us", "metric"),
    [
        (0.0, "32 °F", "0 °C"),
        (-17.8, "0 °F", "-17.8 °C"),
        (100.0, "212 °F", "100 °C"),
        (54.44, "130 °F", "54.4 °C"),
        (3.3, "38 °F", "3.3 °C"),
    ],
)
def test_temperatures(celsius, us, metric):
    assert (US.temp(celsius), METRIC.temp(celsius)) == (us, metric)


@pytest.mark.parametrize(
    ("celsius", "written"),
    # 62.6 °C is 144.68 °F: rounded it would read as the 145 °F that it falls short of.
    [(62.6, "144.7 °F"), (62.78, "145 °F"), (70.9, "159.6 °F"), (4.6, "40.3 °F"), (21.3, "70.3 °F")],
)
def test_next_to_a_limit_tenths_are_shown(celsius, written):
    assert US.temp(celsius) == written


@given(st.sampled_from([(3.33, 38), (4.44, 40), (21.11, 70), (62.78, 145), (71.11, 160)]), st.floats(-0.5, 0.5))
def test_what_falls_short_of_a_limit_never_reads_as_the_limit(limit, off):
    celsius, fahrenheit = limit
    if abs(off) > 0.1:
        assert US.temp(celsius + off) != f"{fahrenheit} °F"


@pytest.mark.parametrize(
    ("celsius", "us", "metric"),
    [
        (62.8, "145 °F / 62.8 °C", "62.8 °C / 145 °F"),
        (71.1, "160 °F / 71.1 °C", "71.1 °C / 160 °F"),
        (3.3, "38 °F / 3.3 °C", "3.3 °C / 38 °F"),
        (60.0, "140 °F / 60 °C", "60 °C / 140 °F"),
        (-20.0, "-4 °F / -20 °C", "-20 °C / -4 °F"),
    ],
)
def test_a_limit_is_said_in_both_scales(celsius, us, metric):
    assert (US.limit(celsius), METRIC.limit(celsius)) == (us, metric)


@pytest.mark.parametrize(
    ("grams", "us", "metric"),
    [
        (1814.37, "4 lb", "1.81 kg"),
        (2041.2, "4½ lb", "2.04 kg"),
        (340.2, "¾ lb", "340 g"),
        (226.8, "8 oz", "227 g"),
        (1020.6, "2¼ lb", "1.02 kg"),
        (1000.0, "2.2 lb", "1 kg"),
        (453.592, "1 lb", "454 g"),
    ],
)
def test_masses_of_fish(grams, us, metric):
    assert METRIC.mass(grams) == metric
    assert US.mass(grams) == us or (grams < 431 and US.mass(grams) == f"{grams / 28.3495:.0f} oz")


@pytest.mark.parametrize(
    ("grams", "us", "metric"),
    # 3 lb 5 oz are 1502.5 g; 9.8 oz are 277.8 g.
    [(277.0, "277 g (9.8 oz)", "277 g"), (1500.0, "1500 g (3 lb 5 oz)", "1500 g"), (14.17, "14 g (0.5 oz)", "14 g")],
)
def test_what_is_weighed_is_weighed_in_grams(grams, us, metric):
    assert (US.weigh(grams), METRIC.weigh(grams)) == (us, metric)


@given(st.floats(1.0, 50_000.0))
def test_ounces_never_reach_a_pound(grams):
    """No "2 lb 16 oz"."""
    found = re.search(r"([\d.]+) oz", US.weigh(grams))

    assert found is None or float(found.group(1)) < 16.0


@pytest.mark.parametrize(
    ("ml", "us", "metric"),
    [
        (3785.4, "1 gal", "3.8 L"),
        (946.35, "1 qt", "946 ml"),
        (1892.7, "2 qt", "1.9 L"),
        (5678.1, "1½ gal", "5.7 L"),
        (473.2, "2 cups", "473 ml"),
        (2500.0, "2.6 qt", "2.5 L"),
    ],
)
def test_volumes(ml, us, metric):
    assert (US.volume(ml), METRIC.volume(ml)) == (us, metric)


@pytest.mark.parametrize(
    ("mm", "us", "metric"),
    [(25.4, "1 in", "25 mm"), (12.7, "½ in", "13 mm"), (19.05, "¾ in", "19 mm"), (38.1, "1½ in", "38 mm"),
     (14.0, "0.6 in", "14 mm"), (50.8, "2 in", "51 mm")],
)  # fmt: skip
def test_lengths(mm, us, metric):
    assert (US.length(mm), METRIC.length(mm)) == (us, metric)


@pytest.mark.parametrize(
    ("away", "us", "metric"),
    [
        (timedelta(0), "12:00 pm", "21:00"),
        (timedelta(hours=-12), "12:00 am", "09:00"),
        (timedelta(hours=2, minutes=5), "2:05 pm", "23:05"),
        (timedelta(hours=4), "4:00 pm", "tomorrow 01:00"),
        (timedelta(hours=18), "tomorrow 6:00 am", "tomorrow 15:00"),
        (timedelta(hours=-13), "yesterday 11:00 pm", "08:00"),
        (timedelta(days=2), "Mon 12:00 pm", "Mon 21:00"),
        (timedelta(days=7), "Sat 19 Sep 12:00 pm", "Sat 19 Sep 21:00"),
        (timedelta(days=-2), "Thu 10 Sep 12:00 pm", "Thu 10 Sep 21:00"),
    ],
)
def test_clock_times_carry_their_day_where_it_is_another(away, us, metric):
    assert (US.clock(NOON + away), METRIC.clock(NOON + away)) == (us, metric)


@pytest.mark.parametrize(
    ("early", "late", "written"),
    [(1, 2, "1:00 pm–2:00 pm"), (18, 19, "tomorrow 6:00 am–7:00 am"), (10, 14, "10:00 pm – tomorrow 2:00 am")],
)
def test_ranges_over_midnight_say_so(early, late, written):
    assert US.between(NOON + timedelta(hours=early), NOON + timedelta(hours=late)) == written


def test_a_range_behind_a_guess_leaves_out_the_day_they_share():
    guess = NOON + timedelta(hours=18)

    assert US.spread(guess - timedelta(hours=1), guess + timedelta(hours=1), guess) == "(5:00 am–7:00 am)"
    assert US.spread(NOON + timedelta(hours=11), guess, guess) == "(11:00 pm–6:00 am)"


def test_the_clock_goes_by_the_zone_through_a_change_of_clocks():
    """Los Angeles, 1 November 2026: 08:59 UTC is 1:59 am daylight time, 09:00 UTC 1:00 am standard time."""
    west = Pen(datetime(2026, 11, 1, 8, tzinfo=UTC), "America/Los_Angeles", "us")

    assert west.time(datetime(2026, 11, 1, 8, 59, tzinfo=UTC)) == "1:59 am"
    assert west.time(datetime(2026, 11, 1, 9, 0, tzinfo=UTC)) == "1:00 am"


@pytest.mark.parametrize(
    ("minutes", "written"),
    [(0, "0 min"), (59, "59 min"), (60, "1 h"), (75, "1 h 15 min"), (24 * 60, "24 h"), (48 * 60, "2 days"),
     (60 * 60, "2.5 days"), (59.6, "1 h")],
)  # fmt: skip
def test_spans(minutes, written):
    assert span(timedelta(minutes=minutes)) == written
    assert hours(minutes / 60.0) == written


@given(st.floats(0.0, 47.0 * 60.0))
def test_a_span_reads_back_to_the_minute(minutes):
    parts = {unit: int(n) for n, unit in re.findall(r"(\d+) (h|min)", span(timedelta(minutes=minutes)))}

    assert abs(parts.get("h", 0) * 60 + parts.get("min", 0) - minutes) <= 0.5
    assert parts.get("min", 0) < 60


@pytest.mark.parametrize(
    ("value", "digits", "written"), [(3.0, 1, "3.0 %"), (9.96, 1, "10.0 %"), (26.396, 2, "26.40 %")]
)
def test_percentages(value, digits, written):
    assert percent(value, digits) == written


@pytest.mark.parametrize(
    ("words", "written"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_rows_of_words(words, written):
    assert join(words) == written


def test_a_moment_as_a_phrase():
    assert US.at(NOON) == "at 12:00 pm"
    assert US.at(NOON - timedelta(hours=13)) == "yesterday 11:00 pm"


@given(st.floats(-40.0, 300.0), st.floats(1.0, 1e6), st.floats(1.0, 1e6), st.floats(0.5, 300.0))
def test_nothing_written_is_empty_or_a_fraction_without_a_number(celsius, grams, ml, mm):
    for pen in (US, METRIC):
        for text in (pen.temp(celsius), pen.limit(celsius), pen.mass(grams), pen.volume(ml), pen.length(mm)):
            assert re.match(r"^-?[\d¼½¾]", text), text
