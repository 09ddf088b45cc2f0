"""The Lessons pages: a shelf of files, an editor with a preview, handouts."""
