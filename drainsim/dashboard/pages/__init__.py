"""One file a page of the dashboard."""
