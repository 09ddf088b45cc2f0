"""The live bench: the engine flown by command, from states that are kept and can be gone back to."""
