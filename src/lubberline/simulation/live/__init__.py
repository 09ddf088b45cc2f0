"""The live bench: the engine flown by orders, from saved states to which it can go back."""
