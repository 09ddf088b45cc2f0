"""The school's records in SQLite or PostgreSQL; the only room that uses a database."""
