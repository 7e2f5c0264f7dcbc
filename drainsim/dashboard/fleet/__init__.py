"""Parts of the fleet's page."""
