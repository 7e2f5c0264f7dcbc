"""Logs of current against time, read from any usual CSV."""
