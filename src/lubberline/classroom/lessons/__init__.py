"""Lessons: files in Markdown that a person writes, read, filled with the engine's numbers, asked, taught."""
