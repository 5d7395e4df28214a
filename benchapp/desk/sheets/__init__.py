"""Section 3 of a safety data sheet, as it is printed, read into substances.

``tokens`` finds classes, H statements, M-factors and routes in a cell; ``shares``, ``classes`` and
``limits`` read one cell each; ``section3`` puts a line together and says back what was understood;
``pasted`` makes lines of a table that was copied.
"""
