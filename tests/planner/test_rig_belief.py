"""The hierarchy of a rig against the joint normal that it stands for, and what must always hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.rig.belief import Lesson, Normal, Rules

DIMS = 3


def rules(rng: np.random.Generator, dims: int = DIMS) -> Rules:
    root = rng.normal(size=(dims, dims))
    rig = Normal.of(rng.normal(size=dims), root @ root.T + 0.3 * np.eye(dims))
    return Rules(tuple("abc"[:dims]), rig, tuple(rng.uniform(0.3, 1.5, dims)))


def told(
    rng: np.random.Generator, dims: int = DIMS, rank: int = 2
) -> tuple[np.ndarray, np.ndarray, np.ndarray, Lesson]:
    """y = A x_b + e with fewer values than unknowns: what a batch tells never pins all of it down."""
    a, cover = rng.normal(size=(rank, dims)), np.diag(rng.uniform(0.2, 2.0, rank))
    y = rng.normal(size=rank)
    inverse = np.linalg.inv(cover)
    pull, precision = a.T @ inverse @ y, a.T @ inverse @ a
    return a, cover, y, Lesson(tuple(pull), tuple(map(tuple, precision)))


@pytest.mark.parametrize("batches", [1, 2, 5])
def test_the_posterior_is_that_of_the_joint_normal(batches: int) -> None:
    """Condition the joint normal of (rig, all that was told) directly: Gelman and others 2013, eq. 3.13 and app. A."""
    rng = np.random.default_rng(batches)
    own = rules(rng)
    batch = np.diag(np.square(own.batch_sd))
    m, r = np.array(own.rig.mean), np.array(own.rig.covariance)
    seen = [told(rng) for _ in range(batches)]
    a = np.vstack([s[0] for s in seen])
    y = np.concatenate([s[2] for s in seen])
    noise = np.zeros((len(y), len(y)))
    for i, (own_a, cover, *_) in enumerate(seen):
        rows = slice(2 * i, 2 * i + 2)
        noise[rows, rows] = cover + own_a @ batch @ own_a.T
    gain = r @ a.T @ np.linalg.inv(a @ r @ a.T + noise)
    mean, covariance = m + gain @ (y - a @ m), r - gain @ a @ r

    found = own.of_rig([s[3] for s in seen])
    ahead = own.of_next_batch([s[3] for s in seen])

    assert found.mean == pytest.approx(mean, abs=1e-9)
    assert np.array(found.covariance) == pytest.approx(covariance, abs=1e-9)
    assert np.array(ahead.covariance) == pytest.approx(covariance + batch, abs=1e-9)


def test_readings_of_one_value_are_averaged_by_the_textbook() -> None:
    """Normal with known variance: 1/v = 1/t2 + n/s2 (Gelman and others 2013, eq. 2.12), s2 = batch + reading."""
    own = Rules(("x",), Normal.apart((10.0,), (4.0,)), (1.2,))
    values, sd = (12.0, 13.5, 11.0), 0.9
    s2 = 1.2**2 + sd**2
    variance = 1.0 / (1.0 / 4.0**2 + 3 / s2)
    mean = variance * (10.0 / 4.0**2 + sum(values) / s2)
    found = own.of_rig([Lesson.reading(v, sd) for v in values])
    assert found.mean[0] == pytest.approx(mean)
    assert found.sd[0] == pytest.approx(math.sqrt(variance))


def test_no_batches_leave_the_whole_usual_spread() -> None:
    own = rules(np.random.default_rng(7))
    whole = np.array(own.rig.covariance) + np.diag(np.square(own.batch_sd))
    assert np.array(own.of_next_batch(()).covariance) == pytest.approx(whole)
    assert own.of_next_batch(()).mean == pytest.approx(own.rig.mean)


def test_a_lesson_is_what_turned_one_belief_into_the_other() -> None:
    rng = np.random.default_rng(11)
    before = rules(rng).rig
    _, _, _, lesson = told(rng)
    precision = np.linalg.inv(np.array(before.covariance)) + np.array(lesson.precision)
    covariance = np.linalg.inv(precision)
    mean = covariance @ (np.linalg.solve(np.array(before.covariance), np.array(before.mean)) + np.array(lesson.pull))

    found = Lesson.between(before, Normal.of(mean, covariance))

    assert np.array(found.precision) == pytest.approx(np.array(lesson.precision), abs=1e-6)
    assert np.array(found.pull) == pytest.approx(np.array(lesson.pull), abs=1e-6)


def test_what_made_nothing_surer_taught_nothing() -> None:
    before = Normal.apart((0.0, 1.0), (1.0, 2.0))
    wider = Normal.apart((0.1, 1.1), (1.1, 2.1))
    lesson = Lesson.between(before, wider)
    assert not lesson.tells
    assert lesson.pull == pytest.approx((0.0, 0.0))


@given(st.integers(0, 10_000), st.integers(1, 6))
def test_more_batches_are_surer_but_never_surer_than_a_batch(seed: int, batches: int) -> None:
    rng = np.random.default_rng(seed)
    own = rules(rng)
    lessons = [told(rng)[3] for _ in range(batches)]
    fewer, more = own.of_next_batch(lessons[:-1]), own.of_next_batch(lessons)
    for i in range(DIMS):
        assert own.batch_sd[i] < more.sd[i] <= fewer.sd[i] + 1e-9


@given(st.integers(0, 10_000), st.integers(2, 6))
def test_the_order_does_not_matter_and_leaving_one_out_forgets_it(seed: int, batches: int) -> None:
    rng = np.random.default_rng(seed)
    own = rules(rng)
    lessons = [told(rng)[3] for _ in range(batches)]
    one, other = own.of_rig(lessons), own.of_rig(lessons[::-1])
    assert one.mean == pytest.approx(other.mean, abs=1e-8)
    back = own.of_rig([*lessons, told(rng)[3]][:-1])
    assert back == one


def test_a_lesson_survives_the_journal() -> None:
    _, _, _, lesson = told(np.random.default_rng(3))
    kept = Lesson.from_json(lesson.to_json())
    assert kept.pull == pytest.approx(lesson.pull, rel=1e-5)
    assert np.array(kept.precision) == pytest.approx(np.array(lesson.precision), rel=1e-5)
