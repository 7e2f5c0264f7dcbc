"""Where a vehicle stands: climate, weather and sun."""
