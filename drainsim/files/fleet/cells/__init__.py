"""What the cells of a list hold, as they may be meant."""
