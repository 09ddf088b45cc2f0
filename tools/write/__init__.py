"""Scripts that make tables, pages and locks, and fetch outside evidence."""
