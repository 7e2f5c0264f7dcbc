"""One module per question; each returns a frozen result with its range and assumptions."""
