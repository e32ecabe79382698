"""Speed of a survey, from soundings to marked patches: how it grows with the number of soundings."""

import numpy as np
import pytest
import shapely

from deckcalc.patch.formulas.outlines import Rules, mark
from deckcalc.patch.formulas.unsound import hollow_cells, unsound_regions

RULES = Rules(margin=0.06, merge=0.3, least_side=0.15, removal_price=430, cut_price=20, piece_price=150)


def spans(count, rng=None):
    """Return soundings of spans of 2 000 each (80 by 25 every 0.3 m), about 5 % hollow, in blots."""
    rng = rng or np.random.default_rng(5)
    x, y = np.meshgrid(np.arange(80) * 0.3 + 0.15, np.arange(25) * 0.3 + 0.15, indexing="ij")
    grid = np.column_stack([x.ravel(), y.ravel()])
    found = []
    for k in range(count):
        hollow = np.zeros(len(grid), dtype=bool)
        for _ in range(10):
            middle, size = rng.uniform([0, 0], [24, 7.5]), rng.uniform(0.2, 0.9, 2)
            hollow |= (np.abs(grid - middle) < size).all(axis=1)
        found.append((grid + np.array([24.0 * k, 0.0]), hollow, shapely.box(24.0 * k, 0, 24.0 * (k + 1), 7.5)))
    return found


def processed(some):
    """Return the patches of all spans, from one set of soundings."""
    xy, hollow = np.vstack([s[0] for s in some]), np.concatenate([s[1] for s in some])
    regions = unsound_regions(hollow_cells(xy, hollow, 0.3, 0.3), xy[hollow], [])
    panels = [s[2] for s in some]
    which, k = shapely.STRtree(regions).query(panels, predicate="intersects")
    count = 0
    for number, panel in enumerate(panels):
        parts = [shapely.intersection(regions[i], panel) for i in k[which == number]]
        count += len(mark([p for p in parts if p.area > 1e-6], panel, RULES))
    return count


@pytest.mark.benchmark(group="survey")
@pytest.mark.parametrize("count", [1, 5])
def test_survey(benchmark, count):
    some = spans(count)
    assert benchmark.pedantic(processed, args=(some,), rounds=1 if benchmark.disabled else 3) >= count
