"""The work of `start.py`: environment, pages, demo, tests, pack. Standard library only."""
