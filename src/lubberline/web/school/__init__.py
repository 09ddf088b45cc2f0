"""The pages of the school: the school's classes and records."""
