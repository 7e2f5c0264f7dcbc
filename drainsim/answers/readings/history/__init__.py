"""A history cut into stands, and a stand into nights."""
