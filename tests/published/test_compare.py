"""Phase correlation against known shifts and scikit-image."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from skimage import data
from skimage.registration import phase_cross_correlation

from deliverables.rules.plan.register import overlap, shift_between
from tests.deliverables.drafts import draft, houses


def shifted(ink, right, down):
    """`ink` moved on paper of the same size; what leaves the page is lost."""
    page = np.zeros_like(ink)
    rows, columns = overlap(ink.shape[::-1], ink.shape[::-1], (right, down))
    page[rows, columns] = ink[rows.start - down : rows.stop - down, columns.start - right : columns.stop - right]
    return page


def ink_of(picture):
    grey = np.asarray(picture.convert("L"), np.float32)
    return np.abs(grey - np.median(grey))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 30), st.integers(-40, 40), st.integers(-40, 40))
def test_a_known_shift_is_recovered_exactly_and_as_scikit_image_does(checks, seed, right, down):
    old = ink_of(draft(seed, houses(checks), page=(900, 700)).picture)
    new = shifted(old, right, down)
    assert shift_between(old, new) == (right, down)
    # scikit-image registration.phase_cross_correlation: the shift that brings the moving image back, rows first
    back, _, _ = phase_cross_correlation(old, new, normalization="phase")
    assert (-int(back[1]), -int(back[0])) == (right, down)


@pytest.mark.parametrize("name", ["camera", "coins", "page", "text"])
@pytest.mark.parametrize(("right", "down"), [(7, -3), (-19, 22), (0, 1)])
def test_a_shift_between_parts_of_one_photograph_is_recovered(name, right, down):
    # two windows cut from one published picture (scikit-image data) differ by a known shift, and at their edges
    picture = ink_of(Image.fromarray(getattr(data, name)()))
    height, width = picture.shape
    old = picture[30 : height - 30, 30 : width - 30]
    new = picture[30 - down : height - 30 - down, 30 - right : width - 30 - right]
    assert shift_between(old, new) == (right, down)


@settings(max_examples=10, deadline=None)
@given(st.integers(-90, 90), st.integers(-90, 90))
def test_a_page_too_large_for_one_transform_is_registered_to_the_pixel(checks, right, down):
    picture = draft(5, houses(checks), page=(2600, 1900)).picture
    old = ink_of(picture)
    assert shift_between(old, shifted(old, right, down)) == (right, down)


def test_the_shift_survives_noise_and_lines_that_changed():
    rng = np.random.default_rng(1)
    old = np.zeros((600, 800), np.float32)
    for _ in range(60):
        top, left = rng.integers(50, 500), rng.integers(50, 700)
        old[top : top + 3, left : left + 60] = 255
    new = shifted(old, 23, -14) + rng.normal(0, 8, old.shape).astype(np.float32)
    new[300:400, 100:180] = 200
    assert shift_between(old, np.clip(new, 0, 255)) == (23, -14)


def test_blank_pages_have_no_shift():
    assert shift_between(np.zeros((50, 60), np.float32), np.zeros((70, 40), np.float32)) == (0, 0)


def test_pages_of_other_sizes_are_registered_by_what_they_share():
    old = ink_of(Image.fromarray(data.checkerboard()))
    new = np.zeros((260, 310), np.float32)
    new[17:217, 31:231] = old
    assert shift_between(old, new) == (31, 17)


@given(*(st.integers(1, 30) for _ in range(4)), st.integers(-40, 40), st.integers(-40, 40))
def test_the_overlap_of_two_pages_is_what_a_mask_says(wide, high, new_wide, new_high, right, down):
    rows, columns = overlap((wide, high), (new_wide, new_high), (right, down))
    page = np.zeros((new_high, new_wide), bool)
    for y in range(high):
        for x in range(wide):
            if 0 <= y + down < new_high and 0 <= x + right < new_wide:
                page[y + down, x + right] = True
    marked = np.zeros_like(page)
    marked[rows, columns] = True
    assert np.array_equal(page, marked)
