"""The bench: an instrument flown live, seen by many and driven by one, over one line each."""
