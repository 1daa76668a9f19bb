"""The plan check against known voids in published house geometries, and its tools against reference libraries."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import ndimage
from skimage import measure, morphology

from deliverables.rules.plan.masks import depth_in, numbered, opened, parts_of, parts_sized, widened
from deliverables.rules.plan.strokes import USUAL, strokes_of
from deliverables.rules.plan.working import block_extreme
from deliverables.rules.plancheck import check_plan
from tests.deliverables.drafts import draft, houses, matched
from tests.deliverables.plan_papers import saved

DRAFTS = range(200)
LARGE_EVERY, LARGE_PAGE = 40, (4200, 3000)
LEAST = 0.98
"""The recall and precision asked of the plan check."""
MASKS = arrays(bool, st.tuples(st.integers(1, 24), st.integers(1, 24)))


def inspected(drawn):
    (page,) = check_plan(saved(drawn.picture, "PNG", compress_level=1)).pages
    return [(void.x, void.y, void.width, void.height) for void in page.voids], [void.share for void in page.voids]


def test_voids_are_found_and_nothing_else_is_on_200_drafts(checks):
    """Line weight, scale, turns by 90°, grey level, lossy saving, noise, coloured and hatched rooms, furniture, arrows,
    logos, title bars, tables, frames, dimension lines, light on dark; a third of the houses stand askew."""
    stock = houses(checks)
    hits = wrong = missed = 0
    ratios = []
    for seed in DRAFTS:
        drawn = draft(seed, stock, page=LARGE_PAGE if seed % LARGE_EVERY == 0 else None)
        found, shares = inspected(drawn)
        pairs = matched(found, list(drawn.voids))
        hits, wrong, missed = hits + len(pairs), wrong + len(found) - len(pairs), missed + len(drawn.voids) - len(pairs)
        ratios += [float(shares[i]) / drawn.shares[j] for i, j in pairs]
    assert hits > 200
    assert hits / (hits + missed) >= LEAST
    assert hits / (hits + wrong) >= LEAST
    # a void drawn in the walls' ink takes half of each wall around it along, one apart from them ends at their faces
    assert np.median(ratios) == pytest.approx(1, abs=0.05)
    assert np.quantile(ratios, (0.05, 0.95)) == pytest.approx([1, 1], abs=0.35)


def test_a_draft_is_a_function_of_its_seed(checks):
    stock = houses(checks)
    one, again, other = draft(3, stock), draft(3, stock), draft(4, stock)
    assert (one.voids, one.picture.tobytes()) == (again.voids, again.picture.tobytes())
    assert one.picture.tobytes() != other.picture.tobytes()


@given(MASKS)
def test_connected_parts_are_those_of_scikit_image_and_opencv(mask):
    # scikit-image measure.label(connectivity=1), OpenCV connectedComponentsWithStats(connectivity=4)
    parts = list(parts_of(mask))
    regions = measure.regionprops(measure.label(mask, connectivity=1))
    ours = sorted((box[0].start, box[1].start, box[0].stop, box[1].stop, int(part.sum())) for box, part in parts)
    assert ours == sorted((*region.bbox, int(region.area)) for region in regions)
    count, _, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=4)
    assert sorted(int(part.sum()) for _, part in parts) == sorted(stats[1:, cv2.CC_STAT_AREA].tolist())
    assert len(parts) == count - 1
    assert int(numbered(mask, longer_than=0).astype(bool).sum()) == int(mask.sum())


@given(MASKS, st.integers(1, 30), st.integers(1, 30))
def test_parts_by_size_are_those_of_scikit_image(mask, least, most):
    # scikit-image morphology.remove_small_objects keeps what is larger than max_size
    large = morphology.remove_small_objects(mask, max_size=least - 1, connectivity=1)
    assert np.array_equal(parts_sized(mask, least=least), large)
    assert np.array_equal(parts_sized(mask, most=most), mask & ~parts_sized(mask, least=most + 1))


@given(MASKS)
def test_depth_is_opencvs_exact_distance(mask):
    # OpenCV distanceTransform(DIST_L2, DIST_MASK_PRECISE) to the nearest zero pixel
    padded = np.pad(mask, 1).astype(np.uint8)
    assert np.allclose(depth_in(mask), cv2.distanceTransform(padded, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)[1:-1, 1:-1])


@given(MASKS, st.integers(1, 5))
def test_opening_and_widening_are_scikit_images(mask, side):
    # scikit-image morphology.opening and dilation with a square; beyond the edge is outside
    padded = np.pad(mask, 8)
    assert np.array_equal(np.pad(opened(mask, side), 8), morphology.opening(padded, np.ones((side, side))))
    square = np.ones((2 * side + 1, 2 * side + 1))
    assert np.array_equal(widened(mask, side), morphology.dilation(padded, square)[8:-8, 8:-8])


@given(arrays(np.uint8, st.tuples(st.integers(1, 20), st.integers(1, 20))), st.integers(1, 5))
def test_block_extremes_are_those_of_scikit_image(levels, side):
    # scikit-image measure.block_reduce on an array filled up with its own last row and column
    full = np.pad(levels, [(0, -length % side) for length in levels.shape], mode="edge")
    for extreme, reduce in (("maximum", np.max), ("minimum", np.min)):
        assert np.array_equal(block_extreme(levels, side, extreme), measure.block_reduce(full, (side, side), reduce))


@settings(max_examples=25, deadline=None)
@given(st.integers(3, 14), st.integers(0, 89))
def test_the_thickness_of_walls_is_that_of_the_strip_drawn(thick, slope):
    # the width of a straight strip is its area over its length: two strips across the page, at any slope
    page = np.zeros((400, 400), np.uint8)
    along = np.array([np.cos(np.radians(slope)), np.sin(np.radians(slope))])
    rows, columns = np.mgrid[:400, :400]
    for shift in (-60, 60):
        off = (columns - 200) * -along[1] + (rows - 200) * along[0] - shift
        page[np.abs(off) < thick / 2] = 1
    strokes = strokes_of(ndimage.distance_transform_edt(np.pad(page, 1))[1:-1, 1:-1], 200, USUAL)
    assert strokes.wall == pytest.approx(thick, abs=2)
