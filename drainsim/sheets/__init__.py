"""Printable sheets: one self-contained HTML page each."""
