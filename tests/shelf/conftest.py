"""The shelf's pure modules, asked in the page of the bench's tests."""

from tests.bench.conftest import bench

__all__ = ["bench"]
