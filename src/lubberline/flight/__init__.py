"""The aircraft's motion: legs and tracks, made into one smooth motion."""
