"""Outside values by subject, each with its source."""
