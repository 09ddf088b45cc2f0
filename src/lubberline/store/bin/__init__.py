"""The bin: deleting, what was deleted, and bringing it back."""
