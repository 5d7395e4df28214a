"""What is typed in a terminal: one file a family of commands."""
