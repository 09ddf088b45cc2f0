"""What is printed or handed on: flights, logs, plans, lessons and results."""
