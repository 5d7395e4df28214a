"""What a maker keeps: the kinds of record, their forms, and a workshop to try them in."""
