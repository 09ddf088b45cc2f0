"""The page of the scenes: all of them with a small picture each."""
