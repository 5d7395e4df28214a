"""What is reckoned at the desk alone: rules of law, as data, and the small engines that read them.

Pure functions: no Flask, no clock, no files but the room's own data.
"""
