"""A pour-bench companion for hand candle makers."""

__version__ = "0.1.0"
