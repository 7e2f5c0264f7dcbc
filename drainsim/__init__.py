"""How many days can this vehicle stand before it will not start, and what changes the answer."""

__version__ = "0.1.0"
