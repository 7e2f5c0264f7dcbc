"""The pages in the browser: widgets in, one call to `drainsim.answers`, words and charts out."""
