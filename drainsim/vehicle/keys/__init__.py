"""Keys of a scenario: declared once, checked, and written down where each value came from."""
