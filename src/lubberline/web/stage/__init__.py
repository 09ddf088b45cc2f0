"""The stage: a bench's instrument as large as the room."""
