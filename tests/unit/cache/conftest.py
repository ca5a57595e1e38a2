from __future__ import annotations

import numpy as np
import pytest

from fitcheck.measurement import model
from fitcheck.measurement.cache import Cache
from fitcheck.measurement.obstacles import Obstacles
from fitcheck.measurement.options import MeasureOptions

DIGEST = "ab" + "0" * 62
PLAIN = MeasureOptions()
CORRIDORS = MeasureOptions(corridors=True)


def made(sha256: str = DIGEST, file_unit: str = "mm") -> model.Measurement:
    """A measurement whose every number follows from its hash, so that a mixed-up one shows."""
    seed = np.random.default_rng(int(sha256[:8], 16))
    return model.Measurement(
        file="a.step", sha256=sha256, file_unit=file_unit, drive_axis=None, coaxiality=None, ends=(), cylinders=(),
        bodies=(model.Body(name=sha256, role="adapter", volume=float(seed.normal())),), free_radius=None,
        obstacles=Obstacles(
            segments=seed.normal(size=(40, 2, 3)), segment_bound=seed.normal(size=40),
            segment_body=np.zeros(40, dtype=np.int32), triangles=seed.normal(size=(300, 3, 3)),
            triangle_bound=seed.normal(size=300), triangle_body=np.zeros(300, dtype=np.int32),
        ),
    )  # fmt: skip


@pytest.fixture
def cache(tmp_path) -> Cache:
    return Cache(str(tmp_path / "cache"))
