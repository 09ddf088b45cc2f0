"""The database beneath the records: engines, tables, transactions and outages."""
