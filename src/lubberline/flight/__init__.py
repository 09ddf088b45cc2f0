"""What the aircraft does: legs and tracks, made into one smooth motion."""
