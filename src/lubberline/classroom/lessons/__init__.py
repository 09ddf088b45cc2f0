"""Lessons: Markdown files, filled with the engine's numbers, and taught."""
