"""A candle's label: what stands on it, whether it fits, and its page for the printer.

``make`` of ``making`` takes what a phone or a file asks, and answers it.
"""
