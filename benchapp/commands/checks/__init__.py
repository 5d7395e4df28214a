"""The checks of `benchapp doctor`: each finds one thing in order or not, and says so.

Nothing is changed by looking: no key or table is made, no database brought up to date. No sentence
holds a key, a token or the path of a push endpoint. Limits are our own, where no source is named.
"""
