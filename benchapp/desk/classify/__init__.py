"""The hazard class of a candle, with the working shown.

``reading`` (JSON) → ``substances`` → ``sums``, ``acute`` and ``sensitisers`` hold shares against
``benchapp.desk.rules`` → ``classifying`` puts it together as a ``finding``, with its ``label`` and
``precaution``; ``told`` words the working; ``changes`` finds the loads at which it changes.
"""

from benchapp.desk.classify.classifying import classify

__all__ = ["classify"]
