"""The tests, room by room."""
