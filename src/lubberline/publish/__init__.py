"""Output of the program: tables, figures, papers and reports."""
