"""Lessons written in the page: a shelf of files, an editor with a preview, handouts."""
