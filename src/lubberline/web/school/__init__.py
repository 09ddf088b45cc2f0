"""The School page: the school's classes and records."""
