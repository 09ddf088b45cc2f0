"""Results: the class, a student, the items, and who is ready."""
