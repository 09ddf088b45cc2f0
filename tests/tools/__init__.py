"""Tests of start.py, the package and the tree itself."""
