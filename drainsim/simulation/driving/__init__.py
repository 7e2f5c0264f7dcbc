"""What weeks of trips do to the charge of lanes."""
