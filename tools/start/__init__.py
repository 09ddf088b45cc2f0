"""What `start.py` does: environment, pages, demo, tests, pack. Standard library only."""
