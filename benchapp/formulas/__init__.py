"""The maker's arithmetic: pure functions of plain floats in base units.

Base units: gram, millilitre, millimetre, degree Celsius, second; a load or a share is a
fraction (0.10), a density is in g/ml (kg/L). Nothing here reads a clock, a file or a screen.
Whatever is impossible or not finite raises ``InputError`` with a sentence a maker understands.

Each module has a twin of the same name in ``static/formulas``. What only the phone reckons with
(``heat``, ``warming``) is only there.
"""
