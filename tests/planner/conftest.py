"""Property tests of the sums run without a deadline: how long one takes is the benchmarks' business."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("sums", deadline=None)
settings.load_profile("sums")
