"""What earlier versions kept, and tests that today's version reads it just the same."""
