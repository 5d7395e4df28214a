"""What falls due after a pour, and how the maker hears of it: by push, or in her calendar."""
