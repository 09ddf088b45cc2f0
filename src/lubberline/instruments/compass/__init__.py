"""The magnetic compass: its card, what it reads, its deviation."""
