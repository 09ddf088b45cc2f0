"""What leaves the program: tables, figures and reports."""
