"""The bin: deleting things, keeping them, and bringing them back."""
