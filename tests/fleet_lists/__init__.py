"""Fleet lists as people keep them, each with the table a careful person would read in it."""
