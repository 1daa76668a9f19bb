"""How long the void search takes on a page of 24 megapixels, against one bare component labelling of the same page.

Run as `python -m tests.bench.bench_plancheck`. Set CHECKS_DIR to draw from the published houses; else a house of four
rooms is drawn. The ratio is of the best of three runs of each.
"""

import os
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage

from deliverables.rules.compare import compare_drafts
from deliverables.rules.plan.edges import exact_extent
from deliverables.rules.plan.outline import find_outline
from deliverables.rules.plan.voids import find_voids
from deliverables.rules.plan.working import working_copy
from deliverables.rules.plancheck import check_plan
from tests.deliverables.drafts import draft, houses
from tests.deliverables.plan_papers import plan_picture, saved

PAGE, SEED = (6000, 4000), 21
DARK = 128


def main() -> None:
    picture = some_page()
    dark = np.asarray(picture.convert("L")) < DARK
    labelling = best_of_three(lambda: ndimage.label(dark))
    searching = best_of_three(lambda: voids_on(picture))
    print(f"page                      {picture.width} × {picture.height} px, {voids_on(picture)} voids")
    print(f"one scipy.ndimage.label   {labelling * 1000:8.0f} ms")
    print(f"void search               {searching * 1000:8.0f} ms   ratio {searching / labelling:.2f} (at most 3)")
    for kind, options in (("PNG", {}), ("JPEG", {"quality": 80})):
        content = saved(picture, kind, **options)
        whole = best_of_three(lambda content=content: check_plan(content))
        print(f"whole check of a {kind:<9}{whole * 1000:8.0f} ms   ratio {whole / labelling:.2f}, decoding included")
    comparing = best_of_three(lambda: compare_drafts(content, content))
    print(
        f"comparison of two such    {comparing * 1000:8.0f} ms   ratio {comparing / labelling:.2f}, decoding included"
    )


def some_page() -> Image.Image:
    """A draft of 24 megapixels with voids."""
    if "CHECKS_DIR" in os.environ:
        return draft(SEED, houses(Path(os.environ["CHECKS_DIR"])), page=PAGE).picture
    return plan_picture(None, size=(1000, 667)).resize(PAGE)


def voids_on(picture: Image.Image) -> int:
    """How many voids the search finds, edges included."""
    working = working_copy(picture)
    outline = find_outline(working)
    if outline is None:
        return 0
    regions, _ = find_voids(working, outline)
    return len([exact_extent(picture, working, region) for region in regions])


def best_of_three(run: Callable[[], object]) -> float:
    """Seconds of the quickest of three runs."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


if __name__ == "__main__":
    main()
