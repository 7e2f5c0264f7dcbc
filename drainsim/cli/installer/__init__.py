"""Commands of whoever fits the unit."""
