"""Flies a motion past a panel and accounts for every degree."""
