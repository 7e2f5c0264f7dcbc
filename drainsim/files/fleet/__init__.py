"""A fleet list as its owner keeps it: any sensible headings, units, separators and mistakes."""
