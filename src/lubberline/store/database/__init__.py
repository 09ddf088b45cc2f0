"""The database beneath the records: engines, tables, transactions, and what may befall them."""
