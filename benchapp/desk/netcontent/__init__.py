"""What a batch weighs, and what its label may therefore say.

``law`` reads the rules (``rules/*.json``), ``weights`` holds what the scale read, ``carry`` says
whether a batch may carry a stated weight, ``claim`` the largest that it may, ``aim`` what to aim
for at the next pour, ``marking`` how the amounts are written, how high and where, ``told`` all of
it as a phone keeps it.

Net content is the candle without vessel, lid and box. Whether the wick counts was not found, so
nothing here counts it: a vessel that is zeroed with its wick weighs without.

All comparisons are exact, in whole millionths of a gram. What only rests on a rule that nobody here
has read (``law.SEEN`` is what somebody has) may ask and caution: it never makes a finding a yes.
"""
