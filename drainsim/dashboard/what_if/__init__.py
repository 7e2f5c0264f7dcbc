"""The controls that change the vehicle asked about."""
